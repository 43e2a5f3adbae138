"""Two instruments that read the same portions: their mean difference and how far two single readings may differ."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from isohume.foundation.metrology.student import student_cdf, student_quantile
from isohume.foundation.quantity.errors import InputError, RangeError


@dataclass(frozen=True, slots=True)
class PairedDifference:
    """The differences first minus second.

    `low` to `high` is the interval of the mean difference; `agreement_low` and `agreement_high` are the limits of
    agreement, each with its own interval. `s` is the standard deviation of the differences.
    """

    n: int
    mean: float
    s: float
    dof: int
    low: float
    high: float
    t: float
    p_value: float
    confidence: float
    agreement_low: float
    agreement_high: float
    agreement_low_interval: tuple[float, float]
    agreement_high_interval: tuple[float, float]

    @property
    def u_mean(self) -> float:
        """The standard uncertainty of the mean difference."""
        return self.s / math.sqrt(self.n)


@dataclass(frozen=True, slots=True)
class ExcessSpread:
    """Whether differences scatter more than the repeatability of the two instruments explains."""

    s: float
    expected: float
    chi_squared: float
    critical: float
    exceeds: bool


@dataclass(frozen=True, slots=True)
class MeanDifference:
    """The difference of two independent means, first minus second, without assuming equal scatter."""

    difference: float
    u: float
    dof: float
    low: float
    high: float
    t: float
    p_value: float
    confidence: float


def paired_difference(
    first: Sequence[float], second: Sequence[float], confidence: float = 0.95, factor: float = 1.96
) -> PairedDifference:
    """The mean difference of paired readings with its interval, t test and limits of agreement.

        d = first - second; mean +- t s/sqrt(n); limits of agreement mean +- factor s, each +- t s sqrt(3/n)
    first: readings of the first instrument [any unit], three or more.
    second: readings of the second on the same portions [same unit], in the same order.
    confidence: two-sided confidence of the intervals [1], above 0 and below 1.
    factor: standard deviations to a limit of agreement [1]; the first paper rounds 1.96 to 2.
    Returns: the PairedDifference [same unit].
    Raises: InputError for unequal lengths, fewer than three pairs or a value not finite.
    Example: peak flow of 17 people by two meters (source): mean -2.1, s 38.8, limits -79.7 and 75.5 (factor 2).
    Source: BlandAltman1986.
    """
    differences = differences_of(first, second)
    _need_confidence(confidence)
    n = len(differences)
    mean = math.fsum(differences) / n
    s = math.sqrt(math.fsum((d - mean) ** 2 for d in differences) / (n - 1))
    quantile = student_quantile(0.5 + 0.5 * confidence, n - 1)
    half, wide = quantile * s / math.sqrt(n), quantile * s * math.sqrt(3.0 / n)
    t, p_value = _t_test(mean, s / math.sqrt(n), n - 1)
    lower, upper = mean - factor * s, mean + factor * s
    return PairedDifference(
        n=n,
        mean=mean,
        s=s,
        dof=n - 1,
        low=mean - half,
        high=mean + half,
        t=t,
        p_value=p_value,
        confidence=confidence,
        agreement_low=lower,
        agreement_high=upper,
        agreement_low_interval=(lower - wide, lower + wide),
        agreement_high_interval=(upper - wide, upper + wide),
    )


def excess_spread(s: float, n: int, s_r_first: float, s_r_second: float, alpha: float = 0.05) -> ExcessSpread:
    """Whether paired differences scatter more than the repeatability of both instruments explains.

        expected^2 = s_r1^2 + s_r2^2; (n - 1) s^2/expected^2 against chi-square of n - 1 degrees of freedom
    s: standard deviation of the differences [any unit], zero or more.
    n: number of pairs [1], two or more.
    s_r_first: repeatability standard deviation of a reading of the first instrument [same unit], above zero.
    s_r_second: the same of the second [same unit], above zero.
    alpha: significance level [1], above 0 and below 0.5.
    Returns: the ExcessSpread; beyond the critical value the difference depends on the product.
    Raises: InputError for numbers out of place; RangeError for an alpha out of range.
    Example: f(0.004, 11, 0.002, 0.002): chi-square 20 against 18.3, more than repeatability.
    Source: JCGM100, 5.1.2 (variance of a difference); NISTHandbook, 7.2.3 (chi-square test of a variance).
    """
    from scipy.special import chdtri

    if not 0.0 <= s < math.inf or n < 2:
        raise InputError("s", s, "a finite standard deviation of zero or more, from two pairs or more")
    for field, one in (("s_r_first", s_r_first), ("s_r_second", s_r_second)):
        if not 0.0 < one < math.inf:
            raise InputError(field, one, "a finite repeatability standard deviation greater than zero")
    if not 0.0 < alpha < 0.5:
        raise RangeError("alpha", alpha, 0.0, 0.5, why="significance level, both ends excluded")
    expected = math.hypot(s_r_first, s_r_second)
    chi_squared = (n - 1) * (s / expected) ** 2
    critical = float(chdtri(n - 1, alpha))
    return ExcessSpread(s, expected, chi_squared, critical, chi_squared > critical)


def mean_difference(
    means: tuple[float, float], u_means: tuple[float, float], dofs: tuple[float, float], confidence: float = 0.95
) -> MeanDifference:
    """The difference of two independent means with its interval.

        u^2 = u1^2 + u2^2; dof = u^4/(u1^4/dof1 + u2^4/dof2); difference +- t u
    means: the two means [any unit].
    u_means: their standard uncertainties, such as s/sqrt(n) [same unit], zero or more, not both zero.
    dofs: their degrees of freedom [1], 1 or more.
    confidence: two-sided confidence [1], above 0 and below 1.
    Returns: the MeanDifference [same unit].
    Raises: InputError for numbers that are not finite or two uncertainties of zero; RangeError for dof below 1.
    Example: f((0.652, 0.648), (0.0010, 0.0010), (9, 9)): 0.004 +- 0.0030.
    Source: JCGM100, G.4.
    """
    _need_confidence(confidence)
    first, second = u_means
    if not all(math.isfinite(x) for x in means) or not all(0.0 <= u < math.inf for u in u_means):
        raise InputError("means", f"{means}, u {u_means}", "finite means with uncertainties of zero or more")
    u = math.hypot(first, second)
    if u == 0.0:
        raise InputError("u_means", 0.0, "at least one uncertainty greater than zero")
    if not all(nu >= 1.0 for nu in dofs):
        raise RangeError("dofs", min(dofs), 1.0, math.inf, why="degrees of freedom")
    dof = u**4 / math.fsum(one**4 / nu for one, nu in zip(u_means, dofs, strict=True) if one > 0.0)
    difference = means[0] - means[1]
    half = student_quantile(0.5 + 0.5 * confidence, dof) * u
    t, p_value = _t_test(difference, u, dof)
    return MeanDifference(difference, u, dof, difference - half, difference + half, t, p_value, confidence)


def differences_of(first: Sequence[float], second: Sequence[float]) -> list[float]:
    """First minus second of each pair, three pairs or more."""
    if len(first) != len(second):
        raise InputError("second", f"{len(second)} readings", f"{len(first)}, one for each of the first")
    if len(first) < 3:
        raise InputError("first", f"{len(first)} pairs", "at least three pairs")
    if not all(math.isfinite(x) for x in (*first, *second)):
        raise InputError("first", "a value that is not finite", "finite numbers")
    return [a - b for a, b in zip(first, second, strict=True)]


def _t_test(difference: float, u: float, dof: float) -> tuple[float, float]:
    """t and its two-sided probability; readings that differ by the same amount each time leave no doubt."""
    if u == 0.0:
        return (0.0, 1.0) if difference == 0.0 else (math.copysign(math.inf, difference), 0.0)
    t = difference / u
    return t, 2.0 * student_cdf(-abs(t), dof)


def _need_confidence(confidence: float) -> None:
    if not 0.0 < confidence < 1.0:
        raise RangeError("confidence", confidence, 0.0, 1.0, why="both ends excluded")
