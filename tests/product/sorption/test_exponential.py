"""The exponential of the kernels against that of the C library, over the whole range."""

from __future__ import annotations

import math
from typing import Any

import numba
import numpy as np
import pytest

from isohume.product.sorption.kernels.exponential import exponential, exponential_less_one

ULP = 2.0**-52
RNG = np.random.default_rng(20261128)
WHOLE_RANGE = np.concatenate([np.linspace(-700.0, 700.0, 50_001), RNG.uniform(-2.0, 2.0, 20_000)])
NEAR_ZERO = np.concatenate([RNG.uniform(-1e-3, 1e-3, 10_000), 10.0 ** RNG.uniform(-300, -3, 2_000)])


@numba.njit  # type: ignore[misc]
def each(x: Any, powers: Any, less_one: Any) -> None:
    """Both functions in loops, as the kernels use them."""
    for i in range(x.size):
        powers[i] = exponential(x[i])
    for i in range(x.size):
        less_one[i] = exponential_less_one(x[i])


@pytest.mark.parametrize("x", [WHOLE_RANGE, NEAR_ZERO], ids=["whole range", "near zero"])
def test_two_units_in_the_last_place_at_most(x: np.ndarray) -> None:
    powers, less_one = np.zeros(x.size), np.zeros(x.size)
    each(x, powers, less_one)
    assert powers == pytest.approx(np.array([math.exp(value) for value in x]), rel=2 * ULP, abs=0.0)
    assert less_one == pytest.approx(np.array([math.expm1(value) for value in x]), rel=2 * ULP, abs=0.0)


def test_beyond_the_range_it_is_as_good_as_nothing_or_endless() -> None:
    powers, less_one = np.zeros(4), np.zeros(4)
    each(np.array([-1e9, -710.0, 710.0, 1e9]), powers, less_one)
    assert 0.0 < powers[0] == powers[1] < 1e-307
    assert less_one[0] == less_one[1] == -1.0
    assert powers[2] == powers[3] > 1e307
