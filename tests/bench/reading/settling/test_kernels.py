"""Each kernel against its slow twin in numpy and scipy."""

from __future__ import annotations

import numba
import numpy as np
import pytest
from scipy import stats
from scipy.optimize import brentq

from isohume.bench.reading.settling.kernels.blocks import into_blocks
from isohume.bench.reading.settling.kernels.decays import FAST_S, LAG_S, functions, prepare
from isohume.bench.reading.settling.kernels.layout import (
    AT,
    BLOCKS,
    COUNT,
    DIFFUSION,
    END,
    END_VARIANCE,
    FILE,
    LANES,
    LEFT,
    MIXED,
    MODES,
    ONE,
    PAIR,
    PART,
    RATES,
    SIZES,
    SPAN,
    STRETCHED,
    TIME,
    USED_BLOCKS,
    VALUE,
    VARIANCE,
    WIDE,
    A,
    B,
    F,
    G,
    new_room,
)
from isohume.bench.reading.settling.kernels.mixture import quantile
from isohume.bench.reading.settling.kernels.node import add_sample, forget, solve
from isohume.bench.reading.settling.kernels.plain import exponential, logarithm

T = np.array([0.0, 0.5, 3.0, 20.0, 170.0, 2000.0])


def shown(which: int, a: float, b: float, lane: int = 5) -> tuple[np.ndarray, np.ndarray]:
    """f and g at the times T of the node at a, b; the other places of its file hold other nodes."""
    file = np.zeros(FILE)
    file[A : A + LANES], file[B : B + LANES] = a + 0.1 * np.arange(LANES), b * (1.0 + 0.01 * np.arange(LANES))
    file[A + lane], file[B + lane] = a, b
    prepare(which, file)
    found = []
    for t in T:
        functions(which, file, t)
        found.append((file[F + lane], file[G + lane]))
    return tuple(np.array(found).T)


def series(apart: float, tau: float) -> np.ndarray:
    """Ten modes as a sensor shows them: (exp(-r t) - r lag exp(-t/lag))/(1 - r lag)."""
    m = 1 + apart * np.arange(MODES)
    share, r = 1 / m**2, m**2 / tau
    seen = (np.exp(-np.outer(T, r)) - r * LAG_S * np.exp(-T / LAG_S)[:, None]) / (1 - r * LAG_S)
    return seen @ (share / share.sum())


@pytest.mark.parametrize(
    ("which", "b", "twin"),
    [
        (STRETCHED, 0.6, lambda x: np.exp(-(x**0.6))),
        (PAIR, 1.2, lambda x: np.exp(-x)),
        (ONE, 1.2, lambda x: np.exp(-x)),
        (RATES, 0.7, lambda x: (1 + x / np.exp(0.7)) ** -np.exp(0.7)),
    ],
)
def test_laws(which: int, b: float, twin: object) -> None:
    f, _ = shown(which, 3.3, b)
    # at t = 0 a stretched exponential is taken a nanosecond later
    least = {"rel": 1e-12, "abs": 1e-6 if which == STRETCHED else 1e-14}
    assert f == pytest.approx(twin(T / np.exp(3.3)), **least)  # type: ignore[operator]


def test_what_stands_beside_a_law() -> None:
    assert shown(PAIR, 2.0, 1.5)[1] == pytest.approx(np.exp(-T / np.exp(3.5)), rel=1e-12)
    assert shown(ONE, 2.0, 1.5)[1] == pytest.approx(np.exp(-T / np.exp(1.5)), rel=1e-12)
    for which in (STRETCHED, RATES):
        assert shown(which, 3.0, 0.8)[1] == pytest.approx(np.exp(-T / FAST_S), rel=1e-12)


@pytest.mark.parametrize(("apart", "tau"), [(2.0, 230.0), (1.0, 77.0), (1.3, 590.0)])
def test_diffusion_is_the_series_of_a_slab(apart: float, tau: float) -> None:
    # a slab is Crank, The Mathematics of Diffusion, eq. 4.18: sum over odd m of 8/(pi m)^2 exp(-m^2 pi^2 D t/l^2)
    assert shown(DIFFUSION, np.log(tau), apart)[0] == pytest.approx(series(apart, tau), rel=1e-9, abs=1e-11)


def test_two_sizes_are_two_slabs() -> None:
    f, g = shown(SIZES, np.log(90.0), 1.1)
    assert f == pytest.approx(series(2.0, 90.0), rel=1e-9, abs=1e-11)
    assert g == pytest.approx(series(2.0, 90.0 * np.exp(1.1)), rel=1e-9, abs=1e-11)


def test_a_mode_as_quick_as_the_sensor_stays_finite() -> None:
    # the third mode of a slab of 25 LAG_S has its time constant
    f, _ = shown(DIFFUSION, np.log(25.0 * LAG_S), 2.0)
    assert np.isfinite(f).all()
    assert f[0] == pytest.approx(1.0, abs=1e-9)
    assert f[4:] == pytest.approx(np.exp(-T[4:] / (25 * LAG_S)) / (1 - 1 / 25) * _first_share(), rel=1e-6, abs=1e-12)


def _first_share() -> float:
    return 1.0 / float((1.0 / (1 + 2.0 * np.arange(MODES)) ** 2).sum())


def test_exponential_and_logarithm_are_those_of_numpy() -> None:
    both = numba.vectorize([numba.float64(numba.float64)])
    x = np.concatenate([np.linspace(-699, 699, 4001), [0.0, -1e-300, 1e-17]])
    assert both(exponential.py_func)(x) == pytest.approx(np.exp(x), rel=2e-15)
    y = np.concatenate([np.exp(np.linspace(-690, 690, 4001)), [1.0, 1.0 - 1e-12, 1.0 + 1e-12, 2.0]])
    assert both(logarithm.py_func)(y) == pytest.approx(np.log(y), rel=1e-15, abs=1e-16)


def test_the_end_is_that_of_a_regression_with_normal_priors() -> None:
    rng = np.random.default_rng(5)
    t = np.arange(40.0)
    f, g = np.exp(-t / 9), np.exp(-t / 31)
    y = 0.1 + 0.2 * f - 0.05 * g + rng.normal(size=40) * 1e-4
    file, room, lane = np.ones(FILE), new_room(1e-4, 0.0), 3
    forget(file)
    for row in zip(f, g, y, strict=True):
        file[F + lane], file[G + lane] = row[:2]
        add_sample(file, row[2], 1.0)
    room.scalars[VARIANCE], room.scalars[SPAN], room.scalars[USED_BLOCKS] = 1e-8, 0.3, 40
    solve(PAIR, file, room.scalars)
    prior = np.diag(1e-8 / np.array([0.25, 0.1 + 0.6, 0.05 + 0.45]) ** 2)
    x = np.column_stack([np.ones(40), f, g])
    inverse = np.linalg.inv(x.T @ x + prior)
    c = inverse @ x.T @ y
    left = y @ y - y @ x @ c
    scale = (8 * 1e-8 + left) / (8 + 40)
    assert file[END + lane] == pytest.approx(c[0], abs=1e-9)
    assert file[END_VARIANCE + lane] == pytest.approx(inverse[0, 0] * scale, rel=1e-6)
    assert file[LEFT + lane] == pytest.approx(scale / 1e-8, rel=1e-6)


def test_quantiles_of_a_mixture() -> None:
    rng = np.random.default_rng(2)
    centre, spread, part = rng.uniform(0.3, 0.7, 32), np.exp(rng.uniform(-9, -3, 32)), rng.dirichlet(np.ones(32))
    mixture = np.zeros(2 * MIXED)
    for row, values in ((AT, centre), (WIDE, spread), (PART, part)):
        for n in range(2):
            mixture[n * MIXED + row : n * MIXED + row + LANES] = values[n * LANES : (n + 1) * LANES]
    for probability in (0.025, 0.5, 0.975):

        def over(x: float, p: float = probability) -> float:
            return float(part @ stats.norm.cdf(x, centre, spread)) - p

        assert quantile(probability, 0.5, mixture, 2, 0.0, 1.0) == pytest.approx(brentq(over, 0, 1), abs=4e-6)


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


def test_a_full_room_of_blocks_makes_room_where_least_is_lost() -> None:
    # ten readings a second for two hours: the room is full long before; the last blocks stay a twelfth of their age
    room = new_room(1e-4, 0.0)
    for t in np.arange(0.0, 7200.0, 0.1):
        into_blocks(room.blocks, room.scalars, t, 0.5)
    n = int(room.scalars[USED_BLOCKS])
    middle = room.blocks[TIME, :n]
    assert n == BLOCKS
    assert (np.diff(middle) > 0.0).all()
    assert (np.diff(middle)[middle[1:] > 300.0] <= 0.25 * middle[1:][middle[1:] > 300.0]).all()
