"""Several quantities conform together: against a slow twin that is split by hand, and against limits known exactly."""

from __future__ import annotations

from itertools import pairwise
from math import sqrt

import numpy as np
import pytest
from scipy import integrate, stats

from isohume.foundation.metrology import probability_all_conform


def twin(values: list[float], own: list[float], common: float, lower: float | None, upper: float | None) -> float:
    """Adaptive integration over the common error, piece by piece between the crossings of the limits."""
    ends = [bound - y for bound in (lower, upper) if bound is not None for y in values]
    widest = 10.0 * max(own)
    pieces = sorted({e for end in ends for e in (end - widest, end, end + widest)} | {-9.0 * common, 9.0 * common})
    pieces = [e for e in pieces if -9.0 * common <= e <= 9.0 * common]

    def density(e: float) -> float:
        p = stats.norm.pdf(e, scale=common)
        for y, u in zip(values, own, strict=True):
            above = 1.0 if upper is None else stats.norm.cdf(upper, y + e, u)
            below = 0.0 if lower is None else stats.norm.cdf(lower, y + e, u)
            p *= above - below
        return float(p)

    parts = [integrate.quad(density, a, b, epsabs=1e-13, epsrel=1e-11, limit=500)[0] for a, b in pairwise(pieces)]
    return float(sum(parts))


@pytest.mark.parametrize("ratio", [2.0, 0.5, 0.1, 0.01, 0.001, 1e-5])
@pytest.mark.parametrize("limits", [(None, 0.85), (0.84, None), (0.844, 0.85)])
def test_as_the_slow_twin_whatever_is_common(ratio: float, limits: tuple[float | None, float | None]) -> None:
    values, common = [0.8463, 0.8481, 0.8470, 0.8502], 0.0035
    own = [ratio * common * share for share in (1.0, 0.6, 1.4, 0.9)]
    expected = twin(values, own, common, *limits)
    assert probability_all_conform(values, own, common, *limits) == pytest.approx(expected, abs=1e-9)


def test_where_nothing_is_their_own_the_worst_decides() -> None:
    """With no own part all move alike: the probability is that of the highest one, or of the span between both ends."""
    values, common = [0.841, 0.846, 0.849], 0.0035
    alone = stats.norm.cdf(0.85, 0.849, common)
    assert probability_all_conform(values, [0.0] * 3, common, upper=0.85) == pytest.approx(alone, abs=1e-13)
    between = stats.norm.cdf((0.85 - 0.849) / common) - stats.norm.cdf((0.838 - 0.841) / common)
    found = probability_all_conform(values, [0.0] * 3, common, 0.838, 0.85)
    assert found == pytest.approx(between, abs=1e-13)
    assert probability_all_conform([0.80, 0.90], [0.0, 0.0], common, 0.838, 0.85) == 0.0


@pytest.mark.parametrize("k", [1, 2, 5, 30])
def test_at_the_limit_it_is_one_over_one_more_than_their_number(k: int) -> None:
    """Gupta 1963: the largest of k + 1 alike is any of them."""
    assert probability_all_conform([0.85] * k, [0.004] * k, 0.004, upper=0.85) == pytest.approx(1 / (k + 1), abs=1e-12)


@pytest.mark.parametrize("ratio", [0.02, 0.0005])
def test_two_at_the_limit_are_an_orthant(ratio: float) -> None:
    """Sheppard: 1/4 + arcsin(rho)/(2 pi) for two at their limit."""
    rho = 1.0 / (1.0 + ratio**2)
    found = probability_all_conform([0.85, 0.85], [ratio * 0.004] * 2, 0.004, upper=0.85)
    assert found == pytest.approx(0.25 + np.arcsin(rho) / (2.0 * np.pi), abs=1e-9)


def test_never_above_the_worst_alone() -> None:
    for ratio in (1e-4, 1e-3, 0.03):
        own = ratio * 0.0035
        alone = stats.norm.cdf((0.85 - 0.849) / sqrt(own**2 + 0.0035**2))
        assert probability_all_conform([0.8, 0.849], [own] * 2, 0.0035, upper=0.85) <= alone
