"""Sampling plans by attributes: how many portions see a wet fraction of a lot, and what a plan lets pass.

A portion is wet or it is not; what a plan promises holds for portions drawn at random from the whole lot.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

from isohume.foundation.quantity.errors import InputError

LARGEST_SAMPLE = 100_000


@dataclass(frozen=True, slots=True)
class AttributesPlan:
    """A single plan: accept where at most c of n portions are wet; its two risks at the points it was made for."""

    n: int
    c: int
    producer_risk: float
    consumer_risk: float


def portions_to_see(fraction: float, confidence: float, lot_size: int | None = None) -> int:
    """How many portions hold at least one wet portion with a given probability, if a fraction of the lot is wet.

        n = ceil(ln(1 - P)/ln(1 - f)); of a lot of N units with D = ceil(f N) wet ones, the least n with
        C(N - D, n)/C(N, n) <= 1 - P
    fraction: the wet fraction f of the lot [1], above 0, below 1.
    confidence: the probability P of seeing it [1], above 0, below 1.
    lot_size: units in the lot [1], None for a lot that is large against the sample.
    Returns: number of portions [1].
    Raises: InputError for a fraction or probability out of range, or an empty lot.
    Example: f 0.10, P 0.95 -> 29; f 0.05 -> 59.
    Source: ICMSF7, sampling plans of two classes; JohnsonKotz1969, hypergeometric distribution.
    """
    _need_share("fraction", fraction)
    _need_share("confidence", confidence)
    if lot_size is None:
        n = math.ceil(math.log1p(-confidence) / math.log1p(-fraction) - 1e-9)
        return max(n, 1)
    _need_lot(lot_size)
    # a wet fraction of a small lot is a whole number of units, at least one
    wet = min(max(math.ceil(fraction * lot_size - 1e-9), 1), lot_size)
    enough = math.log1p(-confidence) + 1e-12
    low, high = 1, lot_size - wet + 1  # of so many at least one is wet
    while low < high:
        middle = (low + high) // 2
        low, high = (low, middle) if _log_missed(wet, lot_size, middle) <= enough else (middle + 1, high)
    return high


def acceptance_probability(fraction: float, n: int, c: int) -> float:
    """The probability that a plan accepts a large lot of which a fraction is wet.

        P_a = sum over d = 0..c of C(n, d) f^d (1 - f)^(n - d)
    fraction: the wet fraction f of the lot [1], 0 to 1.
    n: portions taken [1], 1 or more.
    c: wet portions accepted at most [1], 0 or more, below n.
    Returns: probability of acceptance [1].
    Raises: InputError for a fraction out of range or a plan that is none.
    Example: n 52, c 3, fraction 0.05 -> 0.738.
    Source: NISTHandbook, 6.2.3.2.
    """
    if not 0.0 <= fraction <= 1.0:
        raise InputError("fraction", fraction, "0 to 1")
    _need_plan(n, c)
    from scipy.special import bdtr

    return float(bdtr(c, n, fraction))


def acceptance_probability_in_lot(wet: int, lot_size: int, n: int, c: int) -> float:
    """The probability that a plan accepts a lot of so many units, so many of them wet.

        P_a = sum over d = 0..c of C(D, d) C(N - D, n - d)/C(N, n)
    wet: wet units D in the lot [1], 0 to N.
    lot_size: units N in the lot [1], at least n.
    n: portions taken [1], 1 or more.
    c: wet portions accepted at most [1], 0 or more, below n.
    Returns: probability of acceptance [1].
    Raises: InputError where the numbers do not fit each other.
    Example: of 100 units 10 wet, n 25, c 0 -> 0.0479.
    Source: JohnsonKotz1969, hypergeometric distribution.
    """
    _need_lot(lot_size)
    _need_plan(n, c)
    if n > lot_size:
        raise InputError("n", n, f"at most the {lot_size} units of the lot")
    if not 0 <= wet <= lot_size:
        raise InputError("wet", wet, f"0 to {lot_size}, the units of the lot")
    fewest, most = max(0, n - (lot_size - wet)), min(n, wet)
    if c >= most or c < fewest:
        return float(c >= most)
    weights = _hypergeometric_weights(wet, lot_size, n)
    return float(weights[: c - fewest + 1].sum() / weights.sum())


def _log_missed(wet: int, lot_size: int, n: int) -> float:
    """The logarithm of C(N - D, n)/C(N, n), by the fewer factors: it is the same with n and D exchanged."""
    few, many = min(wet, n), max(wet, n)
    if few + many > lot_size:
        return -math.inf
    return math.fsum(math.log1p(-many / (lot_size - i)) for i in range(few))


def _hypergeometric_weights(wet: int, lot_size: int, n: int) -> Any:
    """C(D, d) C(N - D, n - d) for every possible d against the likeliest: from there each follows from its neighbour.

    No factorial of the lot is taken: in a lot of a million their logarithms would cost eight digits.
    """
    import numpy as np

    fewest, most = max(0, n - (lot_size - wet)), min(n, wet)
    d = np.arange(fewest, most, dtype=float)
    steps = np.log((wet - d) * (n - d)) - np.log((d + 1.0) * (lot_size - wet - n + d + 1.0))
    likeliest = int((n + 1) * (wet + 1) // (lot_size + 2)) - fewest
    up = np.cumsum(steps[likeliest:])
    down = -np.cumsum(steps[:likeliest][::-1])[::-1]
    return np.exp(np.concatenate([down, [0.0], up]))


def plan_by_attributes(aql: float, producer_risk: float, lq: float, consumer_risk: float) -> AttributesPlan:
    """The single plan with the fewest portions through two points of its operating characteristic.

        P_a(AQL) >= 1 - alpha and P_a(LQ) <= beta
    aql: the wet fraction that shall pass [1], above 0.
    producer_risk: the risk alpha of holding such a lot [1], above 0, below 1.
    lq: the wet fraction that shall not pass [1], above the AQL, below 1.
    consumer_risk: the risk beta of passing such a lot [1], above 0, below 1 - alpha.
    Returns: the AttributesPlan with the risks it truly has [1].
    Raises: InputError for points that no plan can go through, or one of more than 100 000 portions.
    Example: AQL 0.05, alpha 0.05, LQ 0.15, beta 0.075 -> n 80, c 7.
    Source: Kiermeier2008, 2.6; ISO2859-1, annex on operating characteristics.
    """
    need_points(aql, producer_risk, lq, consumer_risk)
    n = 1
    for c in range(LARGEST_SAMPLE):
        n = _least_n(lq, consumer_risk, c, max(n, c + 1))
        held = 1.0 - acceptance_probability(aql, n, c)
        if held <= producer_risk:
            return AttributesPlan(n, c, held, acceptance_probability(lq, n, c))
    raise InputError("lq", lq, f"further from the AQL: no plan of up to {LARGEST_SAMPLE} portions tells them apart")


def need_points(aql: float, producer_risk: float, lq: float, consumer_risk: float) -> None:
    """Refuse two points that no plan can go through.

    aql: the wet fraction that shall pass [1].
    producer_risk: the risk of holding such a lot [1].
    lq: the wet fraction that shall not pass [1].
    consumer_risk: the risk of passing such a lot [1].
    Raises: InputError naming the number that does not fit.
    Source: none.
    """
    shares = {"aql": aql, "producer_risk": producer_risk, "lq": lq, "consumer_risk": consumer_risk}
    for name, share in shares.items():
        _need_share(name, share)
    if not aql < lq:
        raise InputError("lq", lq, f"above the AQL {aql}: a worse lot than the one that shall pass")
    if not producer_risk + consumer_risk < 1.0:
        raise InputError("consumer_risk", consumer_risk, f"below 1 - alpha = {1.0 - producer_risk:.6g}")


def _least_n(lq: float, consumer_risk: float, c: int, low: int) -> int:
    """The least n of at least `low` with P_a(LQ) <= beta: P_a falls as n grows."""
    high = low
    while acceptance_probability(lq, high, c) > consumer_risk:
        low, high = high + 1, 2 * high + 1
        if high > 2 * LARGEST_SAMPLE:
            raise InputError("lq", lq, f"a larger fraction: more than {LARGEST_SAMPLE} portions would be needed")
    while low < high:
        middle = (low + high) // 2
        if acceptance_probability(lq, middle, c) > consumer_risk:
            low = middle + 1
        else:
            high = middle
    return high


def _need_share(name: str, share: float) -> None:
    if not 0.0 < share < 1.0:
        raise InputError(name, share, "a share above 0 and below 1, such as 0.1 for ten in a hundred")


def _need_lot(lot_size: int) -> None:
    if not 1 <= lot_size <= 10 * LARGEST_SAMPLE:
        raise InputError("lot_size", lot_size, f"1 to {10 * LARGEST_SAMPLE} units")


def _need_plan(n: int, c: int) -> None:
    if not 1 <= n <= 10 * LARGEST_SAMPLE:
        raise InputError("n", n, f"1 to {10 * LARGEST_SAMPLE} portions")
    if not 0 <= c < n:
        raise InputError("c", c, f"0 or more and below n = {n}")
