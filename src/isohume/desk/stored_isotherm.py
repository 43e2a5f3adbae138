"""Does a stored isotherm still describe its product? New pairs against it, and since when they do not."""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import date, datetime

import numpy as np

from isohume.desk.basis_slip import basis_hints
from isohume.desk.curve_errors_in_both import Floats
from isohume.desk.pairs import Pairs
from isohume.foundation.metrology.student import student_cdf
from isohume.foundation.quantity.errors import InputError
from isohume.product.sorption.isostere import known_covariance
from isohume.product.sorption.isotherm_fit import Fit

LEAST = 3
_TESTS = 3  # scatter, mean, trend: each at a third, so that together they cry wolf as often as stated
_ALIKE_K = 1.0
_DAYS_A_YEAR = 365.25

_FAR = 4.0  # in standard uncertainties: a pair this far off is a slip or another product, not scatter
_FEW = 10  # one pair in so many may be far off before the isotherm is blamed

FITS, FITS_BUT, NO_MORE, CANNOT_TELL = "fits", "fits but for some pairs", "does not fit any more", "cannot be told"


@dataclass(frozen=True, slots=True)
class Mean:
    """How far the pairs lie above the isotherm, or move away from it a year: value, u, probability by chance."""

    value: float
    u: float
    probability: float


@dataclass(frozen=True, slots=True)
class Validity:
    """The verdict on a stored isotherm with the reasons, and the figures behind them."""

    verdict: str
    reasons: tuple[str, ...]
    n: int
    left_out: tuple[str, ...]
    residuals: tuple[float, ...] = ()  # measured less stored moisture, in the order of time
    mean: Mean | None = None
    trend: Mean | None = None  # kg/kg a year
    chi_squared: float | None = None
    chi_probability: float | None = None
    since: date | datetime | None = None  # first pair after the likeliest moment of change
    shift_a_w: float | None = None  # the mean shift seen as a_w at constant moisture
    hints: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Residuals:
    """Pairs against a stored isotherm: what is left, its covariance, and the isotherm's own part of that."""

    left: Floats
    covariance: Floats
    from_isotherm: Floats
    slope: Floats
    years: Floats


def still_fits(stored: Fit, pairs: Pairs, significance: float = 0.05) -> Validity:
    """Whether new pairs agree with a stored isotherm within the uncertainty of both.

        r = X - X(a); C = diag(u_X^2 + (dX/da u_a)^2) + G V G^T; chi^2 = r^T C^-1 r; mean and trend weighted by C^-1
    stored: the isotherm as it was kept, with its covariance [text].
    pairs: new pairs of the same product [text]; those outside the isotherm's range are left out and named.
    significance: probability of a false alarm over the three tests together [1], above 0 and below 0.5.
    Returns: Validity [text]: fits, fits but for some pairs, does not fit any more (with the likeliest first pair), or
        cannot be told.
    Raises: InputError for a significance that is none.
    Beyond: fewer than 3 pairs inside the range, another product, recipe or temperature: cannot be told.
    Example: pairs on the isotherm fit; pairs 0.004 above it with u 0.001 do not.
    Source: JCGM100, 5.1.2 and 5.2.2.
    """
    if not 0.0 < significance < 0.5:
        raise InputError("significance", significance, "above 0 and below 0.5, such as 0.05")
    other = _another(stored, pairs)
    low, high = stored.valid_a_w
    inside = [i for i, one in enumerate(pairs.a_w) if low <= one <= high]
    left_out = tuple(pairs.name(i) for i in range(pairs.count) if i not in set(inside))
    if len(inside) < LEAST:
        inside_it = f"{len(inside)} of {pairs.count} pairs lie inside its a_w range {low:.3g} to {high:.3g}"
        other += (f"{inside_it}; {LEAST} are needed",)
    if other:
        return Validity(CANNOT_TELL, other, len(inside), left_out)
    return _judged(stored, pairs.of(inside), significance, left_out)


def residuals_of(stored: Fit, pairs: Pairs) -> Residuals:
    """Measured less stored moisture with the covariance that the shared isotherm gives them."""
    a = np.array(pairs.a_w)
    rows = stored.curve(a, pairs.temperature_c if stored.model.needs_temperature else None)
    own = np.array(pairs.u_moisture) ** 2 + (rows[1] * np.array(pairs.u_a_w)) ** 2
    covariance = known_covariance(stored)
    shared = np.zeros((a.size, a.size)) if covariance is None else rows[2:].T @ covariance @ rows[2:]
    left = np.array(pairs.moisture_db) - rows[0]
    years = np.array(pairs.days) / _DAYS_A_YEAR
    return Residuals(left, np.diag(own) + shared, shared, rows[1], years)


def chi_squared(found: Residuals) -> tuple[float, float]:
    """The weighted sum of squares and the probability of so much by chance."""
    from scipy.special import gammaincc

    value = float(found.left @ np.linalg.solve(found.covariance, found.left))
    return value, float(gammaincc(0.5 * found.left.size, 0.5 * value))


@dataclass(frozen=True, slots=True)
class _Tests:
    """The three tests of one set of residuals, and which of them speak against the isotherm."""

    mean: Mean
    trend: Mean | None
    chi: float
    chi_chance: float
    share: float

    @property
    def off(self) -> tuple[bool, bool, bool]:
        """Mean, trend, scatter."""
        trend = self.trend is not None and self.trend.probability < self.share
        return self.mean.probability < self.share, trend, self.chi_chance < self.share


def _tested(found: Residuals, isotherm_dof: float, share: float) -> _Tests:
    ones = np.ones(found.left.size)
    centred = found.years - found.years.mean()
    mean = _level(found, ones[:, None], isotherm_dof)
    trend = _level(found, np.column_stack([centred, ones]), isotherm_dof) if np.unique(centred).size > 2 else None
    return _Tests(mean, trend, *chi_squared(found), share)


def _judged(stored: Fit, pairs: Pairs, significance: float, left_out: tuple[str, ...]) -> Validity:
    found = residuals_of(stored, pairs)
    tests = _tested(found, stored.dof, significance / _TESTS)
    shift = -tests.mean.value / float(found.slope.mean())

    def said(verdict: str, reasons: tuple[str, ...], since: date | datetime | None = None) -> Validity:
        return Validity(
            verdict=verdict,
            reasons=reasons,
            n=pairs.count,
            left_out=left_out,
            residuals=tuple(float(one) for one in found.left),
            mean=tests.mean,
            trend=tests.trend,
            chi_squared=tests.chi,
            chi_probability=tests.chi_chance,
            since=since,
            shift_a_w=shift,
            hints=() if verdict == FITS else basis_hints(stored, pairs, tests.share),
        )

    if not any(tests.off):
        return said(FITS, (_well(tests, pairs.count),))
    far = _far_off(found)
    near = [i for i in range(pairs.count) if i not in far]
    if 0 < len(far) * _FEW <= max(pairs.count, _FEW) and len(near) >= LEAST:
        rest = _tested(residuals_of(stored, pairs.of(near)), stored.dof, tests.share)
        if not any(rest.off):
            names = ", ".join(pairs.name(i) for i in far)
            return said(FITS_BUT, (f"far off, to be looked at: {names}", _well(rest, len(near))))
    first, step = _change(found)
    moved = tests.off[0] or tests.off[1]
    return said(NO_MORE, _ill(pairs, found, tests, shift, first, step), pairs.at[first] if moved else None)


def _far_off(found: Residuals) -> list[int]:
    distance = np.abs(found.left) / np.sqrt(np.diag(found.covariance))
    return [int(i) for i in np.flatnonzero(distance > _FAR)]


def _level(found: Residuals, design: Floats, isotherm_dof: float) -> Mean:
    """The first coefficient of a weighted fit to the residuals; its t has the dof of the isotherm's part in it."""
    inverse = np.linalg.inv(found.covariance)
    spread = np.linalg.inv(design.T @ inverse @ design)
    reach = (spread @ design.T @ inverse)[0]
    value, variance = float(reach @ found.left), float(spread[0, 0])
    part = float(reach @ found.from_isotherm @ reach) / variance
    dof = max(1.0, isotherm_dof) / (part * part) if part > 1e-9 else math.inf
    u = math.sqrt(variance)
    return Mean(value, u, 2.0 * student_cdf(-abs(value) / u, max(1.0, dof)))


def _change(found: Residuals) -> tuple[int, float]:
    """The pair from which a shift explains most, and the size of that shift."""
    inverse = np.linalg.inv(found.covariance)
    best = (0, 0.0, -1.0)
    for first in range(found.left.size):
        after = (np.arange(found.left.size) >= first).astype(float)
        weight = float(after @ inverse @ after)
        shift = float(after @ inverse @ found.left) / weight
        gain = shift * shift * weight
        if gain > best[2]:
            best = (first, shift, gain)
    return best[0], best[1]


def _ill(pairs: Pairs, found: Residuals, tests: _Tests, shift_a_w: float, first: int, step: float) -> tuple[str, ...]:
    """What speaks against the isotherm, in words."""
    off, said = tests.off, []
    if off[0]:
        side = "above" if tests.mean.value > 0.0 else "below"
        said.append(
            f"the pairs lie {abs(tests.mean.value):.4f} {side} it on average (u {tests.mean.u:.4f}), "
            f"as if a_w at the same moisture moved by {shift_a_w:+.4f}"
        )
    if off[1] and tests.trend is not None:
        said.append(f"they move away from it by {tests.trend.value:+.4f} a year (u {tests.trend.u:.4f})")
    if off[0] or off[1]:
        when = "from the first of these pairs on" if first == 0 else f"since about {pairs.name(first)}"
        said.append(f"does not fit any more {when}: from there on {step:+.4f} kg/kg")
    if off[2] and not (off[0] or off[1]):
        far = np.abs(found.left) / np.sqrt(np.diag(found.covariance))
        worst = ", ".join(pairs.name(int(i)) for i in np.argsort(-far)[:3])
        said.append(
            f"the pairs scatter more about it than u says (chi-squared {tests.chi:.1f} on {pairs.count}), "
            f"most of all {worst}"
        )
    return tuple(said)


def _well(tests: _Tests, n: int) -> str:
    trend = "" if tests.trend is None else f", trend {tests.trend.value:+.4f} a year (u {tests.trend.u:.4f})"
    mean = f"mean {tests.mean.value:+.4f} (u {tests.mean.u:.4f})"
    return f"{n} pairs agree with it: {mean}{trend}, chi-squared {tests.chi:.1f} on {n}"


def _another(stored: Fit, pairs: Pairs) -> tuple[str, ...]:
    """Why these pairs say nothing about that isotherm."""
    points, found = stored.points, []
    for what, theirs, ours in (
        ("product", points.product, pairs.product),
        ("recipe", points.formula_version, pairs.formula_version),
    ):
        if theirs and ours and theirs != ours:
            found.append(f"the isotherm is of {what} {theirs}, the pairs of {ours}")
    if points.temperature_c is not None and pairs.temperature_c is not None:
        low, high = float(points.temperature_c.min()), float(points.temperature_c.max())
        if not low - _ALIKE_K <= pairs.temperature_c <= high + _ALIKE_K:
            ours = f"the pairs of {pairs.temperature_c:g}: restate a_w first"
            found.append(f"the isotherm is of {low:g} to {high:g} degC, {ours}")
    if stored.model.needs_temperature and pairs.temperature_c is None:
        found.append("the isotherm asks for a temperature and the pairs name none")
    return tuple(found)
