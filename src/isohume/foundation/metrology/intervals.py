"""Confidence intervals of variances and of sums and differences of mean squares.

A component of variance is a difference of mean squares: its interval is found by the modified large-sample
method, which keeps the wanted confidence where Satterthwaite's does not; a sum of mean squares may use either.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from isohume.foundation.quantity.errors import InputError, RangeError

Method = Literal["exact", "Satterthwaite", "modified large sample"]
Term = tuple[float, float, float]


@dataclass(frozen=True, slots=True)
class VarianceInterval:
    """A variance with its two-sided interval; `low` below zero is reported as zero, `raw` keeps the estimate."""

    raw: float
    low: float
    high: float
    confidence: float
    dof: float | None
    method: Method

    @property
    def variance(self) -> float:
        """The estimate, never below zero."""
        return max(0.0, self.raw)

    @property
    def s(self) -> float:
        """The standard deviation."""
        return math.sqrt(self.variance)

    @property
    def s_low(self) -> float:
        """The lower end as a standard deviation."""
        return math.sqrt(self.low)

    @property
    def s_high(self) -> float:
        """The upper end as a standard deviation."""
        return math.sqrt(self.high)


def variance_interval(variance: float, dof: float, confidence: float = 0.95) -> VarianceInterval:
    """The exact interval of a variance from its degrees of freedom.

        dof s^2/chi2(upper) to dof s^2/chi2(lower)
    variance: the estimate s^2 [square of any unit], zero or more.
    dof: its degrees of freedom [1], above zero.
    confidence: two-sided confidence [1], above 0 and below 1.
    Returns: the VarianceInterval [square of the unit].
    Raises: InputError for a variance below zero or not finite; RangeError for dof or confidence out of range.
    Example: f(0.006279^2, 99): the standard deviation lies between 0.00551 and 0.00729.
    Source: NISTHandbook, 7.2.3.
    """
    if not 0.0 <= variance < math.inf:
        raise InputError("variance", variance, "a finite variance of zero or more")
    low, high = _chi_over_dof(dof, confidence)
    return VarianceInterval(variance, variance / high, variance / low, confidence, dof, "exact")


def satterthwaite_interval(terms: Sequence[Term], confidence: float = 0.95) -> VarianceInterval:
    """The interval of a sum of mean squares by effective degrees of freedom.

        dof = (sum c MS)^2 / sum (c MS)^2/dof_i; then as for a single variance
    terms: for each mean square its factor, value and degrees of freedom [1, square of any unit, 1].
    confidence: two-sided confidence [1], above 0 and below 1.
    Returns: the VarianceInterval [square of the unit].
    Raises: InputError where no term is given or the sum is not above zero.
    Example: parts of a gauge study (62.39 - 0.71)/6, 19 and 38 dof: 18.57 effective dof, 5.91 to 22.16.
    Source: JCGM100, G.4; Montgomery2013, 13.7.
    """
    _need_terms(terms)
    total = math.fsum(c * ms for c, ms, _ in terms)
    if not total > 0.0:
        raise InputError("terms", total, "mean squares whose sum is above zero")
    dof = total * total / math.fsum((c * ms) ** 2 / nu for c, ms, nu in terms)
    low, high = _chi_over_dof(dof, confidence)
    return VarianceInterval(total, total / high, total / low, confidence, dof, "Satterthwaite")


def component_interval(terms: Sequence[Term], confidence: float = 0.95) -> VarianceInterval:
    """The interval of a sum or difference of mean squares by the modified large-sample method.

        low = T - sqrt(V_L), high = T + sqrt(V_U), T = sum c MS; V from the chi-square and F quantiles of each term
    terms: for each mean square its factor, value and degrees of freedom [1, square of any unit, 1]; a negative
        factor takes away. Several negative ones are pooled into one by Satterthwaite's degrees of freedom.
    confidence: two-sided confidence [1], above 0 and below 1.
    Returns: the VarianceInterval [square of the unit]; ends below zero are zero, `raw` stays as estimated.
    Raises: InputError where no positive term is given.
    Example: parts of a gauge study (62.39 - 0.71)/6, 19 and 38 dof: 5.89 to 22.06.
    Source: Ting1990; BurdickGraybill1992, 3.3.
    """
    _need_terms(terms)
    plus = [(c, ms, nu) for c, ms, nu in terms if c > 0.0]
    minus = _pooled([(-c, ms, nu) for c, ms, nu in terms if c < 0.0])
    if not plus:
        raise InputError("terms", "no positive factor", "at least one mean square that is added")
    tail = 0.5 * (1.0 - confidence)
    raw = math.fsum(c * ms for c, ms, _ in terms)
    low = raw - math.sqrt(max(0.0, _lower_variance(plus, minus, tail)))
    high = raw + math.sqrt(max(0.0, _upper_variance(plus, minus, tail)))
    return VarianceInterval(raw, max(0.0, low), max(0.0, high), confidence, None, "modified large sample")


def _pooled(minus: Sequence[Term]) -> list[Term]:
    """Several subtracted mean squares as one."""
    if len(minus) < 2:
        return list(minus)
    total = math.fsum(c * ms for c, ms, _ in minus)
    if total == 0.0:
        return []
    return [(1.0, total, total * total / math.fsum((c * ms) ** 2 / nu for c, ms, nu in minus))]


def _lower_variance(plus: Sequence[Term], minus: Sequence[Term], tail: float) -> float:
    v = math.fsum((_g(nu, tail) * c * ms) ** 2 for c, ms, nu in plus)
    v += math.fsum((_h(nu, tail) * c * ms) ** 2 for c, ms, nu in minus)
    for c, ms, nu in plus:
        for d, other, mu in minus:
            f = _f(1.0 - tail, nu, mu)
            cross = ((f - 1.0) ** 2 - (_g(nu, tail) * f) ** 2 - _h(mu, tail) ** 2) / f
            v += cross * c * d * ms * other
    if minus:
        v += _between_plus(plus, tail)
    return v


def _upper_variance(plus: Sequence[Term], minus: Sequence[Term], tail: float) -> float:
    v = math.fsum((_h(nu, tail) * c * ms) ** 2 for c, ms, nu in plus)
    v += math.fsum((_g(nu, tail) * c * ms) ** 2 for c, ms, nu in minus)
    for c, ms, nu in plus:
        for d, other, mu in minus:
            f = _f(tail, nu, mu)
            cross = ((1.0 - f) ** 2 - (_h(nu, tail) * f) ** 2 - _g(mu, tail) ** 2) / f
            v += cross * c * d * ms * other
    return v


def _between_plus(plus: Sequence[Term], tail: float) -> float:
    """What two or more added mean squares share in the lower end of a difference."""
    v = 0.0
    for i, (c, ms, nu) in enumerate(plus):
        for d, other, mu in plus[i + 1 :]:
            both = (_g(nu + mu, tail) * (nu + mu)) ** 2 / (nu * mu)
            star = both - _g(nu, tail) ** 2 * nu / mu - _g(mu, tail) ** 2 * mu / nu
            v += star / (len(plus) - 1) * c * d * ms * other
    return v


def _g(dof: float, tail: float) -> float:
    return 1.0 - 1.0 / _chi_over(dof, tail)


def _h(dof: float, tail: float) -> float:
    return 1.0 / _chi_over(dof, 1.0 - tail) - 1.0


def _chi_over(dof: float, upper_tail: float) -> float:
    """The chi-square quantile with the given upper tail, over its degrees of freedom."""
    from scipy.special import chdtri

    return float(chdtri(dof, upper_tail)) / dof


def _f(probability: float, dof_first: float, dof_second: float) -> float:
    from scipy.special import fdtri

    return float(fdtri(dof_first, dof_second, probability))


def _chi_over_dof(dof: float, confidence: float) -> tuple[float, float]:
    if not 0.0 < dof < math.inf:
        raise RangeError("dof", dof, 0.0, math.inf, why="degrees of freedom, both ends excluded")
    if not 0.0 < confidence < 1.0:
        raise RangeError("confidence", confidence, 0.0, 1.0, why="both ends excluded")
    tail = 0.5 * (1.0 - confidence)
    return _chi_over(dof, 1.0 - tail), _chi_over(dof, tail)


def _need_terms(terms: Sequence[Term]) -> None:
    if not terms:
        raise InputError("terms", "none", "at least one mean square")
    for c, ms, nu in terms:
        if not (math.isfinite(c) and 0.0 <= ms < math.inf and 0.0 < nu < math.inf):
            raise InputError("terms", f"{c} x {ms}, {nu} dof", "finite mean squares of zero or more, dof above zero")
