"""Sampling plans by variables with unknown sigma: accept where the mean and k standard deviations stay inside a limit.

What is said holds for portions drawn at random from a lot whose values are normal. A lot with a wet corner is not:
its portions belong to strata, and its worst stratum decides.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from isohume.foundation.metrology.normal import normal_quantile
from isohume.foundation.metrology.sampling_attributes import need_points
from isohume.foundation.quantity.errors import InputError

LARGEST_SAMPLE = 2_000


@dataclass(frozen=True, slots=True)
class VariablesPlan:
    """Accept where xbar + k s <= U of n portions; its two risks at the points it was made for."""

    n: int
    k: float
    producer_risk: float
    consumer_risk: float


@dataclass(frozen=True, slots=True)
class VariablesVerdict:
    """What a plan says of values: `quality` is Q = (U - xbar)/s, to be at least k."""

    mean: float
    s: float
    quality: float
    accepts: bool


def variables_acceptance(fraction: float, n: int, k: float) -> float:
    """The probability that a plan by variables accepts a lot of which a fraction lies beyond the limit.

        P_a = P(T > k sqrt(n)), T noncentral t with n - 1 degrees of freedom, noncentrality sqrt(n) z_(1 - f)
    fraction: the fraction f of the lot beyond the limit [1], above 0, below 1.
    n: portions taken [1], 2 or more.
    k: the acceptability constant [1], finite.
    Returns: probability of acceptance [1], exact for a normal lot.
    Raises: InputError for a fraction, n or k out of range.
    Example: n 10, k 0.828, fraction 0.10 -> 0.900 (code letter F, AQL 10 %, printed risk 10 %).
    Source: ANSI-Z1.9, table B-1; ISO3951-2, operating characteristic of the s method.
    """
    if not 0.0 < fraction < 1.0:
        raise InputError("fraction", fraction, "a share above 0 and below 1")
    _need_plan(n, k)
    from scipy.special import nctdtr

    root = math.sqrt(n)
    # by the mirrored variable the small probabilities of bad lots keep their digits
    return float(nctdtr(n - 1, root * normal_quantile(fraction), -k * root))


def tolerance_factor(n: int, coverage: float, confidence: float) -> float:
    """The one-sided tolerance factor: xbar + k s lies above a share of the lot with a given confidence.

        k = t'(confidence; n - 1, sqrt(n) z_coverage)/sqrt(n), t' the quantile of the noncentral t distribution
    n: portions taken [1], 2 or more.
    coverage: the share of the lot below the bound [1], above 0, below 1.
    confidence: how surely [1], above 0, below 1.
    Returns: factor k [1], for one limit alone; a lot with two limits needs another factor.
    Raises: InputError for a number out of range.
    Example: n 10, coverage 0.90, confidence 0.95 -> 2.355; n 43, 0.90, 0.99 -> 1.874.
    Source: NISTHandbook, 7.2.6.3; ISO16269-6, one-sided factors.
    """
    for name, share in (("coverage", coverage), ("confidence", confidence)):
        if not 0.0 < share < 1.0:
            raise InputError(name, share, "a share above 0 and below 1")
    _need_plan(n, 0.0)
    return _constant(n, coverage, confidence)


def plan_by_variables(aql: float, producer_risk: float, lq: float, consumer_risk: float) -> VariablesPlan:
    """The plan by variables, sigma unknown, with the fewest portions through two points, exactly.

        P_a(AQL) >= 1 - alpha and P_a(LQ) <= beta by the noncentral t distribution; k in the middle of what fits
    aql: the fraction beyond the limit that shall pass [1], above 0.
    producer_risk: the risk alpha of holding such a lot [1], above 0, below 1.
    lq: the fraction that shall not pass [1], above the AQL, below 1.
    consumer_risk: the risk beta of passing such a lot [1], above 0, below 1 - alpha.
    Returns: the VariablesPlan with the risks it truly has [1].
    Raises: InputError for points that no plan can go through, or one of more than 2000 portions.
    Example: AQL 0.01, alpha 0.05, LQ 0.06, beta 0.10 -> n 42, k 1.90 (nomograph: about 40 and 1.9).
    Source: Schilling2009, 10; Montgomery2009, 16.2.
    """
    need_points(aql, producer_risk, lq, consumer_risk)
    low, high = 2, 2
    while not _fits(high, aql, producer_risk, lq, consumer_risk):
        low, high = high + 1, 2 * high
        if high > 2 * LARGEST_SAMPLE:
            raise _too_near(lq)
    while low < high:
        middle = (low + high) // 2
        if _fits(middle, aql, producer_risk, lq, consumer_risk):
            high = middle
        else:
            low = middle + 1
    if high > LARGEST_SAMPLE:
        raise _too_near(lq)
    strictest = _constant(high, 1.0 - aql, producer_risk)
    laxest = _constant(high, 1.0 - lq, 1.0 - consumer_risk)
    k = 0.5 * (strictest + laxest)
    return VariablesPlan(high, k, 1.0 - variables_acceptance(aql, high, k), variables_acceptance(lq, high, k))


def plan_by_variables_approximate(aql: float, producer_risk: float, lq: float, consumer_risk: float) -> VariablesPlan:
    """The same plan by the normal approximation that printed tables and nomographs rest on.

        k = (z_alpha z_LQ + z_beta z_AQL)/(z_alpha + z_beta);
        n = ceil((1 + k^2/2) ((z_alpha + z_beta)/(z_AQL - z_LQ))^2)
    aql: the fraction beyond the limit that shall pass [1], above 0.
    producer_risk: the risk alpha of holding such a lot [1], above 0, below 1.
    lq: the fraction that shall not pass [1], above the AQL, below 1.
    consumer_risk: the risk beta of passing such a lot [1], above 0, below 1 - alpha.
    Returns: the VariablesPlan, with the exact risks of the plan found [1].
    Raises: InputError for points that no plan can go through, or one of more than 2000 portions.
    Example: AQL 0.01, alpha 0.05, LQ 0.06, beta 0.10 -> n 41, k 1.89.
    Source: Wallis1947.
    """
    need_points(aql, producer_risk, lq, consumer_risk)
    z_aql, z_lq = -normal_quantile(aql), -normal_quantile(lq)
    z_alpha, z_beta = -normal_quantile(producer_risk), -normal_quantile(consumer_risk)
    k = (z_alpha * z_lq + z_beta * z_aql) / (z_alpha + z_beta)
    n = max(2, math.ceil((1.0 + 0.5 * k * k) * ((z_alpha + z_beta) / (z_aql - z_lq)) ** 2))
    if n > LARGEST_SAMPLE:
        raise _too_near(lq)
    return VariablesPlan(n, k, 1.0 - variables_acceptance(aql, n, k), variables_acceptance(lq, n, k))


def judge_by_variables(values: Sequence[float], k: float, limit: float, *, upper: bool = True) -> VariablesVerdict:
    """Whether a plan accepts the values of a lot against one limit.

        Q = (U - xbar)/s for a maximum, (xbar - L)/s for a minimum; accept where Q >= k
    values: one value a portion [any unit], at least 2, not all alike.
    k: the acceptability constant of the plan [1], finite.
    limit: the limit [unit of the values].
    upper: whether the limit is a maximum [text].
    Returns: the VariablesVerdict [unit of the values].
    Raises: InputError for too few or not finite values, or values without spread.
    Example: mean 0.70, s 0.012, limit 0.75 -> Q 4.17.
    Source: ISO3951-2, s method, form k.
    """
    numbers = [float(value) for value in values]
    n = len(numbers)
    _need_plan(n, k)
    if not all(math.isfinite(x) for x in (*numbers, limit)):
        raise InputError("values", "a value that is not finite", "finite numbers")
    mean = math.fsum(numbers) / n
    s = math.sqrt(math.fsum((x - mean) ** 2 for x in numbers) / (n - 1))
    if max(numbers) == min(numbers):  # and not s == 0: rounding may leave a spread where there is none
        raise InputError("values", "values that are all alike", "values with a spread, as read, not rounded away")
    quality = (limit - mean) / s if upper else (mean - limit) / s
    return VariablesVerdict(mean, s, quality, quality >= k)


def _too_near(lq: float) -> InputError:
    return InputError("lq", lq, f"further from the AQL: more than {LARGEST_SAMPLE} portions would be needed")


def _fits(n: int, aql: float, producer_risk: float, lq: float, consumer_risk: float) -> bool:
    return _constant(n, 1.0 - lq, 1.0 - consumer_risk) <= _constant(n, 1.0 - aql, producer_risk)


def _constant(n: int, coverage: float, probability: float) -> float:
    from scipy.special import nctdtrit

    root = math.sqrt(n)
    return float(nctdtrit(n - 1, root * normal_quantile(coverage), probability)) / root


def _need_plan(n: int, k: float) -> None:
    if not 2 <= n <= 2 * LARGEST_SAMPLE:
        raise InputError("n", n, f"2 to {2 * LARGEST_SAMPLE} portions: one has no standard deviation")
    if not math.isfinite(k):
        raise InputError("k", k, "a finite acceptability constant")
