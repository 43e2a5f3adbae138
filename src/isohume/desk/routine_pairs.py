"""A local isotherm from the laboratory's own history of a product, with its drift in time."""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import date, datetime

import numpy as np

from isohume.desk.curve_errors_in_both import Curve, Floats, curve_errors_in_both
from isohume.desk.pairs import Pairs
from isohume.foundation.metrology.student import student_cdf, student_quantile
from isohume.foundation.quantity.errors import InputError
from isohume.foundation.quantity.ranges import ValidRange

LEAST = 6  # pairs below which neither scatter nor slope can be told
_BEND_FROM = 10  # pairs from which a bend is looked for
_BEND_AT = 0.01  # probability of a bend by chance below which it is kept
_DAYS_A_YEAR = 365.25


@dataclass(frozen=True, slots=True)
class Between:
    """A value between two ends at a level of confidence."""

    value: float
    low: float
    high: float
    level: float


@dataclass(frozen=True, slots=True)
class Drift:
    """How far moisture at the same a_w moved a year, with its interval and the probability of so much by chance."""

    moisture_db_per_year: float
    u: float
    low: float
    high: float
    probability: float
    a_w_per_year: float  # the same movement seen as a_w at constant moisture
    shown: bool
    words: str


@dataclass(frozen=True, slots=True)
class LocalIsotherm:
    """Moisture on a_w in the narrow range of the pairs; refused beyond it."""

    pairs: Pairs
    curve: Curve
    a_w: tuple[float, float]
    since: date | datetime
    until: date | datetime
    level: float
    drift: Drift | None
    usable: bool
    reasons: tuple[str, ...]

    def moisture_at(self, a_w: float) -> Between:
        """Moisture on dry basis at an a_w inside the range, with the interval of the curve."""
        self._usable()
        ValidRange(*self.a_w, "", "the a_w of the pairs").check("a_w", a_w)
        half = self._reach * self.curve.u(a_w)
        x = self.curve.value(a_w)
        return Between(x, x - half, x + half, self.level)

    def a_w_at(self, moisture_db: float, u_moisture: float = 0.0) -> Between:
        """The a_w at a moisture inside the range, with the interval of curve and moisture together."""
        self._usable()
        ends = self.curve.value(self.a_w[0]), self.curve.value(self.a_w[1])
        ValidRange(*ends, "kg/kg dry basis", "the moisture of the curve over its a_w").check("moisture_db", moisture_db)
        a = self._inverse(moisture_db)
        half = self._reach * math.hypot(self.curve.u(a), u_moisture) / self.curve.slope(a)
        return Between(a, a - half, a + half, self.level)

    @property
    def residuals(self) -> tuple[float, ...]:
        """Measured less local moisture, pair by pair in the order of time."""
        both = zip(self.pairs.a_w, self.pairs.moisture_db, strict=True)
        return tuple(x - self.curve.value(a) for a, x in both)

    @property
    def _reach(self) -> float:
        return student_quantile(0.5 + 0.5 * self.level, self.curve.dof)

    def _inverse(self, moisture_db: float) -> float:
        """The curve rises over its whole range: halving finds the one place."""
        low, high = self.a_w
        for _ in range(60):
            middle = 0.5 * (low + high)
            low, high = (middle, high) if self.curve.value(middle) < moisture_db else (low, middle)
        return 0.5 * (low + high)

    def _usable(self) -> None:
        if not self.usable:
            raise InputError("pairs", "no local isotherm", "; ".join(self.reasons))


def local_isotherm(pairs: Pairs, level: float = 0.95) -> LocalIsotherm:
    """The local isotherm of routine pairs, errors in both, straight or bent, with its drift in time.

        least sum of ((a - a')/u_a)^2 + ((X - X')/u_X)^2, (a', X') on the curve; u widened by the scatter
    pairs: a_w and moisture of the same samples [text], 6 or more.
    level: coverage of every interval [1], above 0 and below 1.
    Returns: LocalIsotherm; `usable` False with reasons where the pairs give no rising line.
    Raises: InputError for fewer than 6 pairs or a level that is none.
    Beyond: nothing is said outside the a_w of the pairs; pairs of one recipe only.
    Example: pairs on X = 0.02 + 0.15 a give slope 0.15.
    Source: York2004, eqs. 13a to 13d; BrittLuecke1973.
    """
    if not 0.0 < level < 1.0:
        raise InputError("level", level, "a coverage above 0 and below 1")
    if pairs.count < LEAST:
        raise InputError("pairs", pairs.count, f"at least {LEAST}")
    a, x, u_a, u_x = _arrays(pairs)
    curve, bent = _chosen(a, x, u_a, u_x)
    ends = float(a.min()), float(a.max())
    reasons = _against(curve, ends, u_a, level)
    drift = None if reasons else _drift(pairs, curve, level)
    return LocalIsotherm(
        pairs=pairs,
        curve=curve,
        a_w=ends,
        since=pairs.at[0],
        until=pairs.at[-1],
        level=level,
        drift=drift,
        usable=not reasons,
        reasons=reasons or _said(curve, bent, drift),
    )


def _arrays(pairs: Pairs) -> tuple[Floats, Floats, Floats, Floats]:
    a, x, u_a, u_x = (np.array(each) for each in (pairs.a_w, pairs.moisture_db, pairs.u_a_w, pairs.u_moisture))
    return a, x, u_a, u_x


def _chosen(a: Floats, x: Floats, u_a: Floats, u_x: Floats) -> tuple[Curve, bool]:
    """The straight line, or the bent one where the bend is beyond chance and the curve still rises everywhere."""
    line = curve_errors_in_both(a, x, u_a, u_x)
    if a.size < _BEND_FROM or np.unique(a).size < 4:
        return line, False
    bent = curve_errors_in_both(a, x, u_a, u_x, degree=2)
    rises = bent.slope(float(a.min())) > 0.0 < bent.slope(float(a.max()))
    chance = _chance(float(bent.coefficients[2]), bent.u_of(2), bent.dof)
    return (bent, True) if rises and chance < _BEND_AT else (line, False)


def _against(curve: Curve, ends: tuple[float, float], u_a: Floats, level: float) -> tuple[str, ...]:
    """Why there is no local isotherm."""
    reach = student_quantile(0.5 + 0.5 * level, curve.dof)
    if curve.coefficients[1] - reach * curve.u_of(1) > 0.0:
        return ()
    return (
        f"moisture does not rise with a_w beyond doubt: the pairs span a_w {ends[0]:.3f} to {ends[1]:.3f} "
        f"with u about {float(np.median(u_a)):.3g}; pairs further apart are needed",
    )


def _drift(pairs: Pairs, curve: Curve, level: float) -> Drift | None:
    """Time as a further coefficient, so that a_w that changed with time is not taken for drift."""
    years = np.array(pairs.days) / _DAYS_A_YEAR
    if np.unique(years).size < 3 or pairs.count <= curve.coefficients.size + 1:
        return None
    both = curve_errors_in_both(*_arrays(pairs), degree=curve.degree, time=years - years.mean())
    rate, u = float(both.coefficients[-1]), both.u_of(-1)
    half = student_quantile(0.5 + 0.5 * level, both.dof) * u
    chance = _chance(rate, u, both.dof)
    shown = chance < 1.0 - level
    in_a_w = -rate / float(both.coefficients[1])
    words = (
        f"moisture at the same a_w moved by {rate:+.4f} a year ({rate - half:+.4f} to {rate + half:+.4f}), "
        f"as if a_w at the same moisture moved by {in_a_w:+.4f}: product, oven or meter changed"
        if shown
        else f"no drift shown: {rate:+.4f} a year, {rate - half:+.4f} to {rate + half:+.4f}"
    )
    return Drift(rate, u, rate - half, rate + half, chance, in_a_w, shown, words)


def _said(curve: Curve, bent: bool, drift: Drift | None) -> tuple[str, ...]:
    said = [f"{'bent' if bent else 'straight'} line through {curve.n} pairs, errors in both"]
    if curve.scale > 1.0:
        said.append(f"the pairs scatter {curve.scale:.2f} times what their u says: every interval is that much wider")
    said.append("no drift can be told: too few different times" if drift is None else drift.words)
    return tuple(said)


def _chance(value: float, u: float, dof: int) -> float:
    """The two-sided probability of a value so far from zero."""
    return 2.0 * student_cdf(-abs(value) / u, dof) if u > 0.0 else 0.0
