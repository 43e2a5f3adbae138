"""Replicate portions: may they be averaged, and what their repeatability contributes (ISO 5725-6).

The rule assumes that the portions are of one homogeneous material; whether a portion beyond a limit may be
averaged away is decided elsewhere (for a food-safety limit it may not).
"""

from __future__ import annotations

import json
import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from functools import cache
from pathlib import Path

from isohume.foundation.quantity.errors import InputError, RangeError

_TABLE = Path(__file__).with_name("critical_range_factors.json")
_MOST = 10  # the printed table of critical range factors ends here
_ENOUGH = 4  # with this many portions the median is reported instead of asking for more


@dataclass(frozen=True, slots=True)
class ReplicateRoute:
    """How n portions became one value, or why they did not yet.

    `route` reads "single portion", "mean of n" or "median of n"; None (with `value` None) where `more_needed`
    further portions are asked for. `allowed_range` is None for a single portion, which has no range to judge.
    """

    route: str | None
    value: Decimal | None
    n: int
    range: Decimal
    allowed_range: Decimal | None
    more_needed: int = 0
    is_median: bool = False
    reasons: tuple[str, ...] = field(default=())


def critical_range_factor(n: int) -> Decimal:
    """The factor f(n) of the critical range of n portions at 95 % probability.

        allowed range = f(n) s_r
    n: number of portions [1], 2 to 10.
    Returns: f(n) [1].
    Raises: RangeError for n below 2 or above 10.
    Beyond: more than 10 portions are not tabulated here.
    Example: f(2) = 2.8, f(3) = 3.3, f(4) = 3.6 (ISO 5725-6, table 1).
    Source: ISO5725-6, table 1.
    """
    factors = _factors()
    if n not in factors:
        raise RangeError("n", n, 2, _MOST, why="critical range factors are tabulated for these")
    return factors[n]


@cache
def _factors() -> dict[int, Decimal]:
    table = json.loads(_TABLE.read_text(encoding="utf-8"))
    return {int(n): Decimal(factor) for n, factor in table["factors"].items()}


def replicate_route(values: Sequence[Decimal], s_r: Decimal) -> ReplicateRoute:
    """The value of replicate portions, by the route their range allows.

        range <= f(n) s_r: mean; beyond, n < 4: more portions (4 in all); beyond, n >= 4: median
    values: one value a portion [unit of the value], decimals as typed, 1 to 10 of them.
    s_r: repeatability standard deviation [unit of the value], decimal as typed, greater than zero.
    Returns: the ReplicateRoute; ranges are compared as decimals, a range equal to the allowed one is inside.
    Raises: InputError for no value, more than 10, a value that is no finite decimal, or s_r not above zero.
    Example: f([0.640, 0.652], 0.002) asks for 2 more (range 0.012 beyond 0.0056).
    Source: ISO5725-6, 5.2.
    """
    _need_decimals(values, s_r)
    n = len(values)
    if n == 1:
        why = "A single portion: its repeatability cannot be seen from it."
        return ReplicateRoute("single portion", values[0], 1, Decimal(0), None, reasons=(why,))
    spread = max(values) - min(values)
    factor = critical_range_factor(n)
    allowed = factor * s_r
    compared = f"{spread} {{}} the allowed {allowed.normalize():f} ({factor} x s_r {s_r}, n = {n})"
    if spread <= allowed:
        why = f"Mean of {n}: range {compared.format('is within')}."
        return ReplicateRoute(f"mean of {n}", sum(values, Decimal(0)) / n, n, spread, allowed, reasons=(why,))
    if n < _ENOUGH:
        more = _ENOUGH - n
        portions = "portion" if more == 1 else "portions"
        why = f"Range {compared.format('is beyond')}: measure {more} more {portions}."
        return ReplicateRoute(None, None, n, spread, allowed, more_needed=more, reasons=(why,))
    why = f"Median of {n}: range {compared.format('is beyond')}; look for the cause."
    route = f"median of {n}"
    return ReplicateRoute(route, _median(values), n, spread, allowed, is_median=True, reasons=(why,))


def _need_decimals(values: Sequence[Decimal], s_r: Decimal) -> None:
    if not 1 <= len(values) <= _MOST:
        raise InputError("replicates", f"{len(values)} values", f"1 to {_MOST} portions")
    for position, value in enumerate(values, start=1):
        if not isinstance(value, Decimal) or not value.is_finite():
            raise InputError(f"replicates[{position}]", value, "a finite number, as a decimal")
    if not isinstance(s_r, Decimal) or not s_r.is_finite() or s_r <= 0:
        raise InputError("s_r", s_r, "a repeatability standard deviation greater than zero, as a decimal")


def _median(values: Sequence[Decimal]) -> Decimal:
    ordered = sorted(values)
    middle = len(ordered) // 2
    return ordered[middle] if len(ordered) % 2 else (ordered[middle - 1] + ordered[middle]) / 2


def u_of_route(u_other: float, s_r: float, n: int, is_median: bool = False) -> float:
    """The standard uncertainty of a value found from n portions.

        u = sqrt(u_other^2 + s_r^2/n), with s_r^2/n times pi/2 for a median
    u_other: everything but repeatability, as a standard uncertainty [unit of the value], zero or more.
    s_r: repeatability standard deviation [unit of the value], greater than zero.
    n: number of portions [1], at least 1.
    is_median: whether the value is a median [1]; pi/2 is the factor of many values, cautious for few.
    Returns: standard uncertainty [unit of the value].
    Raises: InputError for a negative u_other, s_r not above zero, or n below 1.
    Example: f(0.0035, 0.002, 2) = 0.0037749.
    Source: JCGM100, 4.2 and 5.1.
    """
    if not 0.0 <= u_other < math.inf:
        raise InputError("u_other", u_other, "a finite standard uncertainty of zero or more")
    _need_s_r(s_r)
    if n < 1:
        raise InputError("n", n, "at least 1 portion")
    of_repeating = s_r * s_r / n * (0.5 * math.pi if is_median else 1.0)
    return math.sqrt(u_other * u_other + of_repeating)


def _need_s_r(s_r: float) -> None:
    if not 0.0 < s_r < math.inf:
        raise InputError("s_r", s_r, "a finite repeatability standard deviation greater than zero")


def repeatability_limit(s_r: float) -> float:
    """The repeatability limit: two portions differ by more with a probability of about 5 %.

        r = 2.8 s_r (1.96 sqrt(2) = 2.77, rounded as the standard prints it)
    s_r: repeatability standard deviation [unit of the value], greater than zero.
    Returns: limit r [unit of the value]; with s_R in place of s_r the reproducibility limit R.
    Raises: InputError where s_r is not positive.
    Example: f(0.002) = 0.0056.
    Source: ISO5725-6, 4.1.
    """
    _need_s_r(s_r)
    return 2.8 * s_r


def critical_difference_two_labs(reproducibility: float, repeatability: float, n_first: int, n_second: int) -> float:
    """The largest difference between the means of two laboratories that chance explains at 95 %.

        CD = sqrt(R^2 - r^2 (1 - 1/(2 n1) - 1/(2 n2)))
    reproducibility: reproducibility limit R [unit of the value], at least r.
    repeatability: repeatability limit r [unit of the value], zero or more.
    n_first: portions of the first laboratory [1], at least 1.
    n_second: portions of the second laboratory [1], at least 1.
    Returns: critical difference [unit of the value]; R itself for single portions.
    Raises: InputError where R is below r, or a number of portions is below 1.
    Example: f(0.025, 0.0056, 1, 1) = 0.025.
    Source: ISO5725-6, 5.3.2.
    """
    if not 0.0 <= repeatability < math.inf:
        raise InputError("repeatability", repeatability, "a finite limit r of zero or more")
    if not repeatability <= reproducibility < math.inf:
        allowed = f"a finite limit R of at least r = {repeatability}"
        raise InputError("reproducibility", reproducibility, allowed)
    for name, n in (("n_first", n_first), ("n_second", n_second)):
        if n < 1:
            raise InputError(name, n, "at least 1 portion")
    share = 1.0 - 0.5 / n_first - 0.5 / n_second
    return math.sqrt(reproducibility * reproducibility - repeatability * repeatability * share)


def s_r_from_duplicates(pairs: Sequence[tuple[float, float]]) -> float:
    """The repeatability standard deviation from duplicate portions of different samples.

        s_r = sqrt(sum(d^2)/(2 p)), d the difference of a pair, p pairs
    pairs: the two values of each sample [unit of the value], at least one pair.
    Returns: s_r [unit of the value], with p degrees of freedom.
    Raises: InputError for no pair or a value that is not finite.
    Example: f([(0.650, 0.652), (0.701, 0.700)]) = 0.00111803.
    Source: ISO5725-6, 4.
    """
    if not pairs:
        raise InputError("pairs", "none", "at least one pair of portions")
    differences = [first - second for first, second in pairs]
    if not all(math.isfinite(difference) for difference in differences):
        raise InputError("pairs", "a value that is not finite", "finite numbers")
    return math.sqrt(math.fsum(d * d for d in differences) / (2 * len(differences)))
