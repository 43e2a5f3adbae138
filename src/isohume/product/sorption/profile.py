"""Profile intervals: how far a parameter can move, the others following, before the points object."""

from __future__ import annotations

import math

import numpy as np

from isohume.foundation.metrology import student_quantile
from isohume.foundation.quantity.errors import InputError, UnknownNameError
from isohume.product.sorption.catalogue import place_of
from isohume.product.sorption.isotherm_fit import Fit
from isohume.product.sorption.kernels.layout import MARKS, WIDTH
from isohume.product.sorption.kernels.orthogonal import COLUMNS, TRY, fit_distances, room_size
from isohume.product.sorption.use import Interval

_STEPS = 60
_CLOSE = 1e-9
_FURTHEST = 1e6  # an end further off than this many standard uncertainties is no end


def profile_interval(fit: Fit, name: str, level: float = 0.95) -> Interval:
    """The interval of a parameter by its profile: all values that the other parameters can still accommodate.

        { v : S(v)/S_min - 1 <= t(level, n - p)^2/(n - p) }, S(v) the least sum of squares with the parameter held at v
    fit: the fitted isotherm, in moisture [1].
    name: key of the parameter [text].
    level: confidence [1], between 0 and 1.
    Returns: Interval; an end at the admissible range, or infinite, where the points set none.
    Raises: UnknownNameError for the parameter; InputError where points are not more than parameters.
    Source: BatesWatts1988, 6.1.
    """
    if not 0.0 < level < 1.0:
        raise InputError("level", level, "between 0 and 1, such as 0.95")
    if name not in fit.model.names:
        raise UnknownNameError("name", name, list(fit.model.names))
    if fit.dof <= 0:
        raise InputError(
            "points", fit.n, f"more points than the {len(fit.values)} parameters, else there is no interval"
        )
    place = fit.model.names.index(name)
    reach = student_quantile(0.5 * (1.0 + level), fit.dof) ** 2
    least = fit.chi_square
    scale = least / fit.dof if not fit.weighted else max(1.0, least / fit.dof)
    profile = _Profile(fit, place)
    allowed = least + reach * scale
    value = float(fit.values[place])
    return Interval(value, profile.end(-1.0, allowed), profile.end(1.0, allowed), level)


class _Profile:
    """The least sum of squares with one parameter held, warm-started from the last value looked at."""

    def __init__(self, fit: Fit, place: int) -> None:
        self._fit, self._place = fit, place
        points, n, q = fit.points, fit.n, len(fit.values)
        self._block = np.zeros((5, max(n, COLUMNS)))
        self._block[0, :n], self._block[1, :n], self._block[2, :n] = (
            points.a_w,
            points.moisture_db,
            points.temperature_k,
        )
        self._block[4, :n] = 1.0 if points.u_moisture is None or not fit.weighted else points.u_moisture
        if fit.residual != "moisture":
            self._block[3, :n] = 1.0 if points.u_a_w is None else points.u_a_w
            self._block[4, :n] = points.u_moisture if fit.residual == "both" else 0.0
        parameters = fit.model.parameters
        self._low = np.array([max(each.low, 1e-12) if each.open_low else each.low for each in parameters])
        self._high = np.array([each.high for each in parameters])
        self._room, self._feet, self._slopes = (
            np.zeros(room_size(self._block.shape[1], q)),
            np.zeros(n),
            np.zeros((q, n)),
        )
        self._last = fit.values.copy()

    def sum_at(self, value: float) -> float:
        """The least sum of squares with the parameter held at a value."""
        low, high = self._low.copy(), self._high.copy()
        low[self._place] = high[self._place] = value
        starts = np.array([self._last, self._fit.values])
        starts[:, self._place] = value
        state, theta = np.zeros(TRY + WIDTH), starts[0].copy()
        state[0] = self._fit.n
        reach = self._fit.model.valid_a_w
        fit_distances(
            place_of(self._fit.model.key), self._block, max(reach[0], 1e-12), min(reach[1], 1.0 - 1e-9),
            starts, low, high, np.zeros(WIDTH, np.bool_), self._room, np.zeros(MARKS, np.bool_), theta,
            self._feet, self._slopes, state,
        )  # fmt: skip
        self._last = theta
        return float(state[1])

    def end(self, sign: float, allowed: float) -> float:
        """Where the profile crosses what is allowed, going down (-1) or up (+1) from the optimum."""
        at = float(self._fit.values[self._place])
        bound = float((self._low if sign < 0.0 else self._high)[self._place])
        self._last = self._fit.values.copy()
        u = self._fit.u[self._fit.model.names[self._place]]
        step = u if u else max(abs(at), 1e-6) * 0.1
        inside, outside, furthest = at, math.nan, at + sign * _FURTHEST * step
        while math.isnan(outside):
            trial = max(inside + sign * step, bound) if sign < 0.0 else min(inside + sign * step, bound)
            if self.sum_at(trial) > allowed:
                outside = trial
            elif trial == bound or sign * (trial - furthest) > 0.0:
                return bound
            else:
                inside, step = trial, 1.6 * step
        return self._between(inside, outside, allowed)

    def _between(self, inside: float, outside: float, allowed: float) -> float:
        for _ in range(_STEPS):
            middle = 0.5 * (inside + outside)
            if abs(outside - inside) <= _CLOSE * max(abs(middle), 1e-12):
                break
            if self.sum_at(middle) > allowed:
                outside = middle
            else:
                inside = middle
        return 0.5 * (inside + outside)
