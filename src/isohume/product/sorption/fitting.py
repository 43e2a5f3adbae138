"""How points and models meet the compiled fits: arrays in, `Fit` objects out."""

from __future__ import annotations

import threading
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from isohume.foundation.quantity.errors import InputError
from isohume.product.sorption.catalogue import MODELS, Packed, packed, places_of
from isohume.product.sorption.isotherm_fit import Fit
from isohume.product.sorption.kernels.fit import (
    AICC,
    COVARIANCE,
    NUMBERS,
    OUTPUT,
    POINTS,
    THETA,
    VALUES,
    fit_models,
    room_size,
)
from isohume.product.sorption.kernels.layout import HIGH, LOW, MARKS, WIDTH
from isohume.product.sorption.model import Model
from isohume.product.sorption.points import Points

_Array = NDArray[np.float64]
_STRETCHED = 0.9
_FIRST_FIGURES = AICC + 1  # points, weighted and plain sum, standard error, deviation, criterion
_own = threading.local()


class Outcome:
    """What one call of the kernel found, one row a model."""

    __slots__ = ("rows",)

    def __init__(self, rows: _Array) -> None:
        self.rows = rows

    @property
    def values(self) -> _Array:
        """The printed parameters."""
        return self.rows[:, VALUES:THETA]

    @property
    def theta(self) -> _Array:
        """The coordinates of the search."""
        return self.rows[:, THETA:NUMBERS]

    @property
    def figures(self) -> _Array:
        """Points, sums, errors and how the search ended: the columns are named in kernels/fit.py."""
        return self.rows[:, NUMBERS:COVARIANCE]

    @property
    def covariance(self) -> _Array:
        """(J^T J)^-1 of each model."""
        return self.rows[:, COVARIANCE:].reshape(-1, WIDTH, WIDTH)

    @property
    def seen(self) -> list[float]:
        """How many points each model saw."""
        counts: list[float] = self.rows[:, NUMBERS + POINTS].tolist()
        return counts


def _room(needed: int) -> tuple[_Array, NDArray[np.bool_]]:
    """Working room of this thread, kept from call to call."""
    room: tuple[_Array, NDArray[np.bool_]] | None = getattr(_own, "room", None)
    if room is None or room[0].size < needed:
        room = _own.room = (np.zeros(needed), np.zeros(MARKS, np.bool_))
    return room


def run(
    places: NDArray[np.int64], a: _Array, t: _Array, x: _Array, s: _Array, models: Packed | None = None,
    among: tuple[float, float] = (0.0, 1.0),
) -> Outcome:  # fmt: skip
    """The kernel on plain arrays: s are the roots of the weights; points whose a_w is not `among` are left out."""
    ring = models or packed()
    room, marks = _room(room_size(a.size, *ring.most))
    rows = np.zeros((places.size, OUTPUT))
    fit_models(places, *among, a, t, x, s, ring.whole, ring.real, room, marks, rows)
    return Outcome(rows)


@lru_cache(maxsize=64)
def _ones(count: int) -> _Array:
    return np.ones(count)


def root_weights(points: Points) -> tuple[_Array, bool]:
    """1/u of each moisture, and whether there was one; all one where no uncertainty was given."""
    if points.u_moisture is None:
        return _ones(points.count), False
    return 1.0 / points.u_moisture, True


def fit_keys(points: Points, keys: tuple[str, ...], among: tuple[float, float] = (0.0, 1.0)) -> Outcome:
    """The models of these keys fitted in moisture to the points among two a_w, in one call of the kernel."""
    if points.count == 0:
        raise InputError("points", 0, "at least as many points as a model has parameters")
    s = root_weights(points)[0]
    return run(places_of(keys), points.a_w, points.temperature_k, points.moisture_db, s, among=among)


def fits_of(points: Points, keys: tuple[str, ...], outcome: Outcome) -> tuple[Fit, ...]:
    """The fits of an outcome as objects."""
    return tuple(_fit_of(points, MODELS[key], row, outcome) for row, key in enumerate(keys))


def fitted(points: Points, keys: tuple[str, ...]) -> tuple[Fit, ...]:
    """The models of these keys fitted in moisture."""
    return fits_of(points, keys, fit_keys(points, keys))


def _fit_of(points: Points, model: Model, row: int, outcome: Outcome) -> Fit:
    size = len(model.parameters)
    n, weighted_sse, sse, standard_error, mrd, aicc = outcome.figures[row, :_FIRST_FIGURES].tolist()
    left_out = points.count - int(n)
    if n < size:
        raise InputError("points", f"{int(n)} in the range of {model.name}", f"{size} or more, one a parameter")
    used = points
    if left_out:
        used = points.of((points.a_w >= model.valid_a_w[0]) & (points.a_w <= model.valid_a_w[1]))
    return Fit(
        model, used, outcome.values[row, :size], outcome.covariance[row, :size, :size],
        outcome.theta[row, : model.nonlinear], weighted_sse, sse, standard_error, mrd, aicc,
        weighted=points.u_moisture is not None, left_out=left_out,
    )  # fmt: skip


def unconstrained(points: Points, model: Model) -> dict[str, float] | None:
    """The optimum in the wide box of a model, None where that one is not finite either.

    A pole can stand anywhere beyond the last point, at a_w 0.01 too: stretched to 0.9, all sets look alike to the box.
    """
    stretch = _STRETCHED / float(points.a_w.max()) if model.scales_a_w else 1.0
    places, wide = places_of((model.key,)), packed(wide=True)
    a, s = points.a_w * stretch, root_weights(points)[0]
    a.setflags(write=False)  # as those of points: for the compiler another kind of array is another kernel
    outcome = run(places, a, points.temperature_k, points.moisture_db, s, wide)
    found = outcome.values[0, : len(model.parameters)]
    if model.scales_a_w:
        found[model.names.index(model.scales_a_w)] *= stretch
    theta, box = outcome.theta[0, : model.nonlinear], wide.real[places[0]]
    low, high = box[LOW : LOW + theta.size], box[HIGH : HIGH + theta.size]
    inside = (low < theta) & (theta < high)
    if not (np.isfinite(found).all() and inside.all()):
        return None  # there is none, or it lies at an end of the wide box too
    return dict(zip(model.names, found.tolist(), strict=True))
