"""Adsorption and desorption of one product, kept apart: how wide the loop is, how large, and where it closes."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from isohume.foundation.metrology.student import student_quantile
from isohume.foundation.quantity.errors import InputError
from isohume.foundation.quantity.ranges import ValidRange
from isohume.product.sorption.isostere import known_covariance
from isohume.product.sorption.isotherm_fit import Fit, fit
from isohume.product.sorption.points import Points

_NODES = 48  # Gauss-Legendre: smooth curves over one loop
_GRID = 400  # places at which the width is looked at for the end of the loop


@dataclass(frozen=True, slots=True)
class Width:
    """How far desorption lies from adsorption at one place, with its interval; None where the fits carry no u."""

    value: float
    u: float | None
    dof: float
    low: float | None
    high: float | None

    @property
    def is_open(self) -> bool:
        """Whether the interval leaves zero out on the side where loops are: desorption wetter, at a lower a_w."""
        return self.low is not None and self.high is not None and self.low > 0.0


@dataclass(frozen=True, slots=True)
class Loop:
    """The two branches of one product over the a_w that both cover."""

    adsorption: Fit
    desorption: Fit
    a_w: tuple[float, float]
    level: float
    area_db: float  # integral of the width over a_w [kg/kg]
    u_area_db: float | None
    widest_at: float  # a_w
    closes_at: (
        float | None
    )  # lowest a_w from which the loop is open without a gap to its widest place; None: open to the end
    warnings: tuple[str, ...]

    def width_in_moisture(self, a_w: float) -> Width:
        """Moisture of desorption less that of adsorption at one a_w [kg/kg]."""
        ValidRange(*self.a_w, "", "the a_w both branches cover").check("a_w", a_w)
        value, variance, dof = _difference(self.adsorption, self.desorption, np.array([a_w]))
        return _width(float(value[0]), None if variance is None else float(variance[0]), dof, self.level)

    def width_in_a_w(self, moisture_db: float) -> Width:
        """The a_w of adsorption less that of desorption at one moisture [1]."""
        parts = []
        for branch in (self.adsorption, self.desorption):
            a = float(branch.water_activity(moisture_db))
            rows = branch.curve(a)[:, 0]
            parts.append((a, branch, -rows[2:] / rows[1]))
        variance, dof = _independent([(each[1], each[2]) for each in parts])
        return _width(parts[0][0] - parts[1][0], variance, dof, self.level)


def fit_branches(points: Points, model: str = "gab") -> dict[str, Fit]:
    """Each direction fitted on its own; they are never mixed.

        one fit a direction
    points: points that name their direction [text].
    model: name or key of the model [text].
    Returns: the fits by "adsorption" and "desorption" [text].
    Raises: InputError where no direction is stated.
    Source: none (definition).
    """
    if points.direction is None:
        raise InputError(
            "direction", None, "adsorption or desorption for every point; without it the branches stay mixed"
        )
    return {name: fit(branch, model) for name, branch in points.branches().items()}


def hysteresis_loop(adsorption: Fit, desorption: Fit, level: float = 0.95) -> Loop:
    """The loop between two fitted branches of one product at one temperature.

        width X_des(a) - X_ads(a); area = integral over the a_w both cover; u from both covariances, independent
    adsorption: the fit of points taken up [text].
    desorption: the fit of points given off [text].
    level: coverage of the intervals [1], above 0 and below 1.
    Returns: Loop; its widths are asked for by a_w or by moisture [kg/kg or 1].
    Raises: InputError for mixed or exchanged branches, another product, recipe or temperature, or no a_w in common.
    Beyond: nothing is said outside the a_w that both branches cover.
    Example: two fits of the same points have a width of zero everywhere.
    Source: JCGM100, 5.1.2.
    """
    if not 0.0 < level < 1.0:
        raise InputError("level", level, "a coverage above 0 and below 1")
    _kept_apart(adsorption, desorption)
    low = max(adsorption.valid_a_w[0], desorption.valid_a_w[0])
    high = min(adsorption.valid_a_w[1], desorption.valid_a_w[1])
    if not low < high:
        raise InputError("a_w", f"{low:g} and {high:g}", "branches that share a range of a_w")
    area, u_area = _area(adsorption, desorption, low, high)
    widest, closes, warnings = _shape(adsorption, desorption, low, high, level)
    return Loop(adsorption, desorption, (low, high), level, area, u_area, widest, closes, warnings)


def _kept_apart(adsorption: Fit, desorption: Fit) -> None:
    for name, branch in (("adsorption", adsorption), ("desorption", desorption)):
        found = tuple(branch.points.branches())
        if found != (name,):
            raise InputError(name, " and ".join(found), f"a fit of {name} points only: branches are never mixed")
        if branch.model.needs_temperature:
            raise InputError(name, branch.model.name, "a model of one temperature")
    one, other = adsorption.points, desorption.points
    for field in ("product", "formula_version"):
        if getattr(one, field) != getattr(other, field):
            raise InputError(field, f"{getattr(one, field)} / {getattr(other, field)}", "the same for both branches")
    if one.temperature_c is not None and other.temperature_c is not None:
        warm = np.concatenate([one.temperature_c, other.temperature_c])
        if float(np.ptp(warm)) > 1.0:
            raise InputError("temperature_c", f"{warm.min():g} to {warm.max():g}", "both branches at one temperature")


def _difference(
    adsorption: Fit, desorption: Fit, a_w: NDArray[np.float64]
) -> tuple[NDArray[np.float64], NDArray[np.float64] | None, float]:
    """The width in moisture, its variance at each a_w, and the degrees of freedom (the smaller of both branches)."""
    up, down = adsorption.curve(a_w), desorption.curve(a_w)
    value = down[0] - up[0]
    v_up, v_down = known_covariance(adsorption), known_covariance(desorption)
    if v_up is None or v_down is None:
        return value, None, math.inf
    variance = np.einsum("pi,pq,qi->i", up[2:], v_up, up[2:]) + np.einsum("pi,pq,qi->i", down[2:], v_down, down[2:])
    return value, np.maximum(variance, 0.0), float(min(adsorption.dof, desorption.dof))


def _independent(parts: list[tuple[Fit, NDArray[np.float64]]]) -> tuple[float | None, float]:
    """The variance of a difference of two fits by their gradients, and its effective degrees of freedom."""
    variances = []
    for branch, gradient in parts:
        covariance = known_covariance(branch)
        if covariance is None:
            return None, math.inf
        variances.append(max(0.0, float(gradient @ covariance @ gradient)))
    total = math.fsum(variances)
    limiting = math.fsum(v * v / branch.dof for v, (branch, _) in zip(variances, parts, strict=True))
    return total, total * total / limiting if limiting > 0.0 else math.inf


def _width(value: float, variance: float | None, dof: float, level: float) -> Width:
    if variance is None:
        return Width(value, None, dof, None, None)
    half = student_quantile(0.5 + 0.5 * level, max(1.0, dof)) * math.sqrt(variance)
    return Width(value, math.sqrt(variance), dof, value - half, value + half)


def _area(adsorption: Fit, desorption: Fit, low: float, high: float) -> tuple[float, float | None]:
    nodes, weights = np.polynomial.legendre.leggauss(_NODES)
    a_w = 0.5 * (high - low) * nodes + 0.5 * (high + low)
    weights = 0.5 * (high - low) * weights
    up, down = adsorption.curve(a_w), desorption.curve(a_w)
    variance, _ = _independent([(adsorption, up[2:] @ weights), (desorption, down[2:] @ weights)])
    return float(weights @ (down[0] - up[0])), None if variance is None else math.sqrt(variance)


def _shape(
    adsorption: Fit, desorption: Fit, low: float, high: float, level: float
) -> tuple[float, float | None, tuple[str, ...]]:
    """Where the loop is widest, the a_w below which it cannot be told from closed, and what was noticed."""
    a_w = np.linspace(low, high, _GRID)
    value, variance, dof = _difference(adsorption, desorption, a_w)
    widest = int(np.argmax(value))
    said = []
    if value.min() < 0.0:
        said.append(
            "desorption lies below adsorption over part of the range: check the directions, or the branches cross"
        )
    if variance is None:
        return float(a_w[widest]), None, (*said, "no intervals: a branch has no more points than parameters")
    reach = student_quantile(0.5 + 0.5 * level, max(1.0, dof))
    shut = np.flatnonzero(value - reach * np.sqrt(variance) <= 0.0)
    if shut.size and widest in shut:
        return float(a_w[widest]), float(a_w[widest]), (*said, "no loop can be told from the scatter of the points")
    below = shut[shut < widest]
    return float(a_w[widest]), float(a_w[below[-1] + 1]) if below.size else None, tuple(said)
