"""Bootstrap of fitted isotherms: how far the curves would move if the points were measured again."""

from __future__ import annotations

import os
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import ArrayLike, NDArray

from isohume.foundation.metrology import normal_quantile, student_quantile
from isohume.foundation.quantity.errors import InputError
from isohume.product.sorption.catalogue import packed, place_of
from isohume.product.sorption.fitting import root_weights
from isohume.product.sorption.isotherm_fit import Fit, variance_scale
from isohume.product.sorption.kernels.layout import MARKS, WIDTH
from isohume.product.sorption.kernels.resampling import curves_at, refit, room_size
from isohume.product.sorption.panel import Panel

_Array = NDArray[np.float64]
_MOST = 1_000_000


@dataclass(frozen=True, eq=False)
class Bootstrap:
    """The parameters of every replicate, by model; `band` is of the model named, or of the first."""

    fits: tuple[Fit, ...]
    parameters: dict[str, _Array]  # key -> replicates x parameters
    replicates: int
    seed: int

    def curves(self, a_w: ArrayLike, model: str | None = None, temperature_c: float | None = None) -> _Array:
        """The moisture of every replicate (rows) at each a_w (columns)."""
        fit = self._fit(model)
        grid = np.ascontiguousarray(np.atleast_1d(np.asarray(a_w, float)))
        kelvin = fit.kelvin(temperature_c)[0]
        out = np.empty((self.replicates, grid.size))
        curves_at(
            place_of(fit.model.key), grid, float(kelvin), self.parameters[fit.model.key], out, np.empty(2 + WIDTH)
        )
        return out

    def band(
        self, a_w: ArrayLike, level: float = 0.95, model: str | None = None, temperature_c: float | None = None
    ) -> tuple[_Array, _Array]:
        """The lower and upper end of the curve's band at each a_w.

        Quantiles of the replicates, their distance from the fit widened by Student's t over the normal deviate: few
        points show less scatter than they have.
        """
        if not 0.0 < level < 1.0:
            raise InputError("level", level, "between 0 and 1, such as 0.95")
        fit = self._fit(model)
        curves = self.curves(a_w, model, temperature_c)
        tail = 0.5 * (1.0 - level)
        low, high = np.quantile(curves, [tail, 1.0 - tail], axis=0)
        centre = fit.curve(a_w, temperature_c)[0]
        widen = student_quantile(1.0 - tail, fit.dof) / normal_quantile(1.0 - tail)
        return centre + (low - centre) * widen, centre + (high - centre) * widen

    def _fit(self, model: str | None) -> Fit:
        for each in self.fits:
            if model is None or each.model.key == model:
                return each
        raise InputError("model", model, ", ".join(self.parameters))


def bootstrap(of: Fit | Panel, replicates: int = 2000, seed: int = 0) -> Bootstrap:
    """Each model's residuals drawn again with replacement, added to its curve and fitted again, many times.

        X*_i = X(a_i; p) + e*_i/s_i, e* drawn from sqrt(n/(n - p)) (s e - mean)
    of: a fit in moisture, or a panel [1].
    replicates: how many [1], 1 to a million.
    seed: of the random draws [1]; the same seed gives the same replicates.
    Returns: Bootstrap; models without more points than parameters are left out.
    Raises: InputError for the number of replicates, or where no model has points to spare.
    Source: EfronTibshirani1993, 9.5.
    """
    if not 1 <= replicates <= _MOST:
        raise InputError("replicates", replicates, f"1 to {_MOST}")
    if isinstance(of, Fit) and of.residual != "moisture":
        raise InputError("of", f"a fit in {of.residual}", "a fit in moisture, or a panel of such")
    fits = tuple(each for each in ((of,) if isinstance(of, Fit) else of.fits) if each.dof > 0)
    if not fits:
        raise InputError("points", of.points.count, "more points than one of the models has parameters")
    return Bootstrap(fits, {each.model.key: _refits(each, replicates, seed) for each in fits}, replicates, seed)


def _widened(fit: Fit) -> float:
    """Stated uncertainties larger than the scatter are kept, as the covariance keeps them."""
    shown = fit.chi_square / fit.dof
    return float(np.sqrt(variance_scale(fit.chi_square, fit.dof, fit.weighted) / shown)) if shown > 0.0 else 1.0


def _refits(fit: Fit, replicates: int, seed: int) -> _Array:
    points, ring, place = fit.points, packed(), place_of(fit.model.key)
    s, _weighted = root_weights(points)
    errors = fit.residuals * s
    errors = (errors - errors.mean()) * np.sqrt(fit.n / fit.dof) * _widened(fit)
    order = np.random.default_rng(seed).integers(0, fit.n, (replicates, fit.n), dtype=np.int64)
    fitted = points.moisture_db - fit.residuals
    out, ends = np.empty((replicates, WIDTH)), np.empty(replicates, np.int64)
    needed = room_size(fit.n, fit.model.features, fit.model.linear, fit.model.nonlinear)

    def part(rows: slice) -> None:
        refit(
            place, points.a_w, points.temperature_k, fitted, errors, s, order[rows], ring.whole, ring.real,
            fit.theta, np.zeros(needed), np.zeros(MARKS, np.bool_), out[rows], ends[rows],
        )  # fmt: skip

    workers = os.cpu_count() or 1
    edges = np.linspace(0, replicates, workers + 1).astype(int)
    with ThreadPoolExecutor(workers) as pool:
        list(pool.map(part, [slice(low, high) for low, high in pairwise(edges)]))
    return out[:, : len(fit.values)]
