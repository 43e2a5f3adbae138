"""Each kernel against its slow twin in numpy and scipy."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats
from scipy.optimize import brentq

from isohume.bench.reading.settling.kernels.blocks import into_blocks
from isohume.bench.reading.settling.kernels.decays import as_used, beside, law
from isohume.bench.reading.settling.kernels.layout import (
    BLOCKS,
    COUNT,
    DIFFUSION,
    END,
    END_VARIANCE,
    MODES,
    PAIR,
    RATES,
    SPAN,
    STRETCHED,
    TIME,
    USED_BLOCKS,
    VALUE,
    VARIANCE,
    new_room,
)
from isohume.bench.reading.settling.kernels.mixture import quantile
from isohume.bench.reading.settling.kernels.node import add_sample, solve

T = np.array([0.0, 0.5, 3.0, 20.0, 170.0, 2000.0])


def used(which: int, a: float, b: float) -> tuple[np.ndarray, np.ndarray]:
    shape, modes = np.zeros(2), np.zeros(MODES)
    as_used(which, a, b, shape, modes)
    return shape, modes


@pytest.mark.parametrize(
    ("which", "b", "twin"),
    [
        (STRETCHED, 0.6, lambda x: np.exp(-(x**0.6))),
        (PAIR, 1.2, lambda x: np.exp(-x)),
        (RATES, 0.7, lambda x: (1 + x / np.exp(0.7)) ** -np.exp(0.7)),
    ],
)
def test_laws(which: int, b: float, twin: object) -> None:
    shape, modes = used(which, 3.3, b)
    found = [law(which, shape[0], shape[1], modes, t) for t in T]
    assert found == pytest.approx(twin(T / np.exp(3.3)), rel=1e-13, abs=1e-14)  # type: ignore[operator]


def test_diffusion_is_the_series_of_a_slab() -> None:
    # Crank, The Mathematics of Diffusion, eq. 4.18: sum over odd m of 8/(pi m)^2 exp(-m^2 pi^2 D t/l^2), ten terms
    shape, modes = used(DIFFUSION, np.log(200.0), 2.0)
    odd = 1 + 2 * np.arange(MODES)
    share = 1.0 / odd**2
    twin = (share / share.sum() * np.exp(-np.outer(T, odd**2) / 200.0)).sum(axis=1)
    assert [law(DIFFUSION, shape[0], shape[1], modes, t) for t in T] == pytest.approx(twin, rel=1e-9, abs=1e-11)


def test_the_second_exponential_of_a_pair_is_slower_by_its_ratio() -> None:
    shape, _ = used(PAIR, 2.0, 1.5)
    assert beside(PAIR, shape[1], 30.0) == pytest.approx(np.exp(-30.0 / np.exp(3.5)))


def test_the_end_is_that_of_a_regression_with_normal_priors() -> None:
    rng = np.random.default_rng(5)
    t = np.arange(40.0)
    f, g = np.exp(-t / 9), np.exp(-t / 31)
    y = 0.1 + 0.2 * f - 0.05 * g + rng.normal(size=40) * 1e-4
    sums, room, out = np.zeros(10), new_room(1e-4, 0.0), np.zeros(6)
    for row in zip(f, g, y, strict=True):
        add_sample(sums, *row, 1.0)
    room.scalars[VARIANCE], room.scalars[SPAN], room.scalars[USED_BLOCKS] = 1e-8, 0.3, 40
    solve(PAIR, sums, room.scalars, out)
    prior = np.diag(1e-8 / np.array([0.25, 0.1 + 0.6, 0.05 + 0.45]) ** 2)
    x = np.column_stack([np.ones(40), f, g])
    inverse = np.linalg.inv(x.T @ x + prior)
    c = inverse @ x.T @ y
    left = y @ y - y @ x @ c
    scale = (8 * 1e-8 + left) / (8 + 40)
    assert out[END] == pytest.approx(c[0], abs=1e-9)
    assert out[END_VARIANCE] == pytest.approx(inverse[0, 0] * scale, rel=1e-6)


def test_quantiles_of_a_mixture() -> None:
    rng = np.random.default_rng(2)
    mixture = np.vstack([rng.uniform(0.3, 0.7, 30), np.exp(rng.uniform(-9, -3, 30)), rng.dirichlet(np.ones(30))])
    for probability in (0.025, 0.5, 0.975):

        def over(x: float, p: float = probability) -> float:
            return float(mixture[2] @ stats.norm.cdf(x, mixture[0], mixture[1])) - p

        assert quantile(probability, 0.5, mixture, 30, 0.0, 1.0) == pytest.approx(brentq(over, 0, 1), abs=4e-6)


def test_blocks_keep_every_sample() -> None:
    room, rng = new_room(1e-4, 0.0), np.random.default_rng(1)
    t, y = np.cumsum(rng.uniform(0.2, 5.0, 3000)), rng.normal(size=3000)
    for pair in zip(t, y, strict=True):
        into_blocks(room.blocks, room.scalars, *pair)
    n = int(room.scalars[USED_BLOCKS])
    assert n <= BLOCKS
    count = room.blocks[COUNT, :n]
    assert count.sum() == 3000
    assert room.blocks[VALUE, :n] @ count == pytest.approx(y.sum())
    assert room.blocks[TIME, :n] @ count == pytest.approx(t.sum())
