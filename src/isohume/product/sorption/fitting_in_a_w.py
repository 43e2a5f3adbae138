"""Fits whose residual lies in a_w, or along the errors of both: the printed parameters searched as they are."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from isohume.foundation.quantity.errors import InputError
from isohume.product.sorption.catalogue import place_of
from isohume.product.sorption.evaluation import curve_of
from isohume.product.sorption.fitting import fitted
from isohume.product.sorption.isotherm_fit import Fit
from isohume.product.sorption.kernels.layout import MARKS, WIDTH
from isohume.product.sorption.kernels.orthogonal import COLUMNS, TRY, fit_distances, room_size
from isohume.product.sorption.model import Model
from isohume.product.sorption.points import Points

_Array = NDArray[np.float64]
_TINY = 1e-12  # stands for an excluded zero
_SHIFTS = (1.0, 0.85, 1.15)  # further starts: the optimum in moisture with each parameter moved


def fitted_in_a_w(points: Points, model: Model, both: bool) -> Fit:
    """The model fitted by distances in a_w, or, with `both`, by distances in standard uncertainties of both."""
    if both and (points.u_a_w is None or points.u_moisture is None):
        missing = "u_a_w" if points.u_a_w is None else "u_moisture"
        raise InputError(missing, None, "a standard uncertainty a point: a fit with errors in both needs both")
    first = fitted(points, (model.key,))[0]
    used = first.points
    block = _block(used, both)
    theta, slopes, state = _solve(first, block, model, used.count)
    return _fit_of(first, used, model, theta, slopes, state, both)


def _block(points: Points, both: bool) -> _Array:
    n = points.count
    block = np.zeros((5, max(n, COLUMNS)))
    block[0, :n], block[1, :n], block[2, :n] = points.a_w, points.moisture_db, points.temperature_k
    block[3, :n] = 1.0 if points.u_a_w is None else points.u_a_w
    if both:
        block[4, :n] = points.u_moisture
    return block


def _solve(first: Fit, block: _Array, model: Model, n: int) -> tuple[_Array, _Array, _Array]:
    q = len(model.parameters)
    low = np.array([max(each.low, _TINY) if each.open_low else each.low for each in model.parameters])
    high = np.array([each.high for each in model.parameters])
    starts = np.array([first.values] + [_moved(first.values, j, by) for j in range(q) for by in _SHIFTS[1:]])
    starts = np.clip(starts, low, high)
    theta, feet, slopes, state = starts[0].copy(), np.zeros(n), np.zeros((q, n)), np.zeros(TRY + WIDTH)
    state[0] = n
    reach = (_TINY, 1.0 - 1e-9)  # where the true a_w of a point may lie, whatever the range of the model's use
    fit_distances(
        place_of(model.key), block, *reach, starts, low, high, np.zeros(WIDTH, np.bool_),
        np.zeros(room_size(block.shape[1], q)), np.zeros(MARKS, np.bool_), theta, feet, slopes, state,
    )  # fmt: skip
    return theta, slopes, state


def _moved(values: _Array, place: int, by: float) -> _Array:
    moved = values.copy()
    moved[place] *= by
    return moved


def _fit_of(first: Fit, used: Points, model: Model, theta: _Array, slopes: _Array, state: _Array, both: bool) -> Fit:
    size, n = theta.size, used.count
    chi_square = float(state[1])
    weighted = both or used.u_a_w is not None
    residuals = used.moisture_db - curve_of(place_of(model.key), used.a_w, used.temperature_k, theta)[0]
    sse = float(residuals @ residuals)
    return Fit(
        model=model,
        points=used,
        values=theta,
        inverse_information=_inverse(slopes),
        theta=first.theta,
        chi_square=chi_square,
        sse=sse,
        standard_error=float(np.sqrt(sse / (n - size))) if n > size else float("nan"),
        mrd_percent=_deviation(residuals, used.moisture_db),
        aicc=_aicc(chi_square, n, size + 1),
        residual="both" if both else "a_w",
        weighted=weighted,
        left_out=first.left_out,
    )


def _deviation(residuals: _Array, moisture: _Array) -> float:
    with np.errstate(divide="ignore", invalid="ignore"):
        return float(100.0 * np.mean(np.abs(residuals / moisture)))


def _aicc(chi_square: float, n: int, free: int) -> float:
    if n <= free + 1:
        return float("nan")
    return n * float(np.log(chi_square / n)) + 2 * free + 2 * free * (free + 1) / (n - free - 1)


def _inverse(slopes: _Array) -> _Array:
    """(J J^T)^-1 of the distances' slopes, by the singular values of their scaled rows; nan where it does not exist."""
    scale = np.linalg.norm(slopes, axis=1)
    if not (scale > 0.0).all():
        return np.full((scale.size, scale.size), np.nan)
    u, s, _ = np.linalg.svd(slopes / scale[:, None], full_matrices=False)
    if s[-1] < 1e-12 * s[0]:
        return np.full((scale.size, scale.size), np.nan)
    inverse: _Array = (u / s**2) @ u.T / np.outer(scale, scale)
    return inverse
