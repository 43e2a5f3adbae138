"""Proficiency rounds: a robust assigned value, whether the items are alike enough, several rounds seen together."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from isohume.foundation.metrology.scores import ScoreWord, score_word
from isohume.foundation.quantity.errors import InputError

_TUNING = 1.5
_SCALE = 1.134
_MOST_ROUNDS = 500


@dataclass(frozen=True, slots=True)
class RobustMean:
    """A robust mean x* and standard deviation s* of participants' results."""

    mean: float
    s: float
    n: int
    iterations: int

    @property
    def u(self) -> float:
        """The standard uncertainty of the mean as an assigned value: 1.25 s*/sqrt(p)."""
        return 1.25 * self.s / math.sqrt(self.n)


@dataclass(frozen=True, slots=True)
class Homogeneity:
    """Whether items are alike enough for a round.

    `s_sample` is the between-item, `s_analytical` the within-item standard deviation; `allowed` = 0.3 sigma_pt.
    `expanded` is the larger variance limit that allows for the chance in few items.
    """

    items: int
    s_sample: float
    s_analytical: float
    sample_raw: float
    allowed: float
    expanded: float

    @property
    def alike(self) -> bool:
        """s_s <= 0.3 sigma_pt."""
        return self.s_sample <= self.allowed

    @property
    def alike_by_chance_allowed(self) -> bool:
        """s_s^2 within the expanded limit."""
        return self.s_sample**2 <= self.expanded


@dataclass(frozen=True, slots=True)
class RoundsTogether:
    """Several rounds' scores: the running sum over the root of the rounds so far shows a bias no single one shows."""

    n: int
    mean: float
    rescaled_sum: float
    running: tuple[float, ...]
    word: ScoreWord


def algorithm_a(values: Sequence[float], tolerance: float = 1e-9) -> RobustMean:
    """The robust mean and standard deviation of participants' results by algorithm A.

        start: median and 1.483 median(abs(x - median)); values beyond x* +- 1.5 s* count as that limit;
        x* = their mean, s* = 1.134 times their standard deviation; until both stand still
    values: the results [any unit], three or more.
    tolerance: change that ends the iteration, relative to s* [1], above zero.
    Returns: the RobustMean [same unit]; s* may be 0 where more than half of the results are equal.
    Raises: InputError for fewer than three or not finite results, or where it does not come to rest.
    Example: 24 results of copper in flour (source): 3.2056, 0.6742.
    Source: ISO13528, C.3; AMC1989.
    """
    numbers = [float(x) for x in values]
    if len(numbers) < 3 or not all(math.isfinite(x) for x in numbers):
        raise InputError("values", f"{len(numbers)} results", "at least three, all finite")
    mean = _median(numbers)
    s = 1.483 * _median([abs(x - mean) for x in numbers])
    for iteration in range(1, _MOST_ROUNDS):
        low, high = mean - _TUNING * s, mean + _TUNING * s
        inside = [min(max(x, low), high) for x in numbers]
        new_mean = math.fsum(inside) / len(inside)
        new_s = _SCALE * math.sqrt(math.fsum((x - new_mean) ** 2 for x in inside) / (len(inside) - 1))
        moved = max(abs(new_mean - mean), abs(new_s - s))
        mean, s = new_mean, new_s
        if moved <= tolerance * s or s == 0.0:
            return RobustMean(mean, s, len(numbers), iteration)
    raise InputError("values", "results that do not come to rest", "results with one centre")


def homogeneity(pairs: Sequence[tuple[float, float]], sigma: float) -> Homogeneity:
    """Whether proficiency items are alike enough, from two portions of each item.

        s_an^2 = sum(d^2)/(2 m); s_s^2 = (V_sum/2 - s_an^2)/2; enough where s_s <= 0.3 sigma_pt
        expanded limit: F1 (0.3 sigma_pt)^2 + F2 s_an^2
    pairs: the two values of each item [any unit], seven items or more.
    sigma: standard deviation for the assessment sigma_pt [same unit], above zero.
    Returns: the Homogeneity [same unit].
    Raises: InputError for fewer than seven items, values not finite or a sigma not above zero.
    Example: copper in soya flour, 12 items, sigma 1.1 (source): s_an^2 0.0612, s_s^2 0.0850, limit 0.2476.
    Source: ISO13528, B.2; Thompson2006, appendix 1.
    """
    if len(pairs) < 7:
        raise InputError("pairs", f"{len(pairs)} items", "at least seven items with two portions each")
    if not all(math.isfinite(x) for pair in pairs for x in pair):
        raise InputError("pairs", "a value that is not finite", "finite numbers")
    if not 0.0 < sigma < math.inf:
        raise InputError("sigma", sigma, "a finite standard deviation greater than zero")
    m = len(pairs)
    analytical = math.fsum((a - b) ** 2 for a, b in pairs) / (2 * m)
    sums = [a + b for a, b in pairs]
    centre = math.fsum(sums) / m
    raw = (math.fsum((x - centre) ** 2 for x in sums) / (m - 1) / 2 - analytical) / 2
    factor_1, factor_2 = homogeneity_factors(m)
    allowed = 0.3 * sigma
    expanded = factor_1 * allowed * allowed + factor_2 * analytical
    return Homogeneity(m, math.sqrt(max(0.0, raw)), math.sqrt(analytical), raw, allowed, expanded)


def homogeneity_factors(items: int) -> tuple[float, float]:
    """The factors F1 and F2 of the expanded limit of homogeneity.

        F1 = chi2(0.95, m - 1)/(m - 1); F2 = (F(0.95; m - 1, m) - 1)/2
    items: number of items m [1], two or more.
    Returns: F1 and F2 [1].
    Raises: InputError for fewer than two items.
    Example: f(12) = (1.79, 0.86).
    Source: Thompson2006, table 1; ISO13528, B.2.
    """
    from scipy.special import chdtri, fdtri

    if items < 2:
        raise InputError("items", items, "two items or more")
    return float(chdtri(items - 1, 0.05)) / (items - 1), (float(fdtri(items - 1, items, 0.95)) - 1.0) / 2.0


def rounds_together(scores: Sequence[float]) -> RoundsTogether:
    """Several z scores seen together: a bias that repeats shows though no single round does.

        rescaled sum = sum(z)/sqrt(n), judged as a z score
    scores: the z scores in the order of the rounds [1], one or more.
    Returns: the RoundsTogether; `running` is the rescaled sum after each round.
    Raises: InputError for no score or one that is not finite.
    Example: f([1.2, 1.4, 1.1, 1.5]) = 2.6, a warning, though each is acceptable.
    Source: ISO13528 (combined performance scores; they may hide one bad round).
    """
    if not scores or not all(math.isfinite(z) for z in scores):
        raise InputError("scores", f"{len(scores)} scores", "at least one, all finite")
    running = [math.fsum(scores[:i]) / math.sqrt(i) for i in range(1, len(scores) + 1)]
    n = len(scores)
    return RoundsTogether(n, math.fsum(scores) / n, running[-1], tuple(running), score_word(running[-1]))


def _median(values: Sequence[float]) -> float:
    ordered = sorted(values)
    middle = len(ordered) // 2
    return ordered[middle] if len(ordered) % 2 else 0.5 * (ordered[middle - 1] + ordered[middle])
