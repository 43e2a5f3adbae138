"""The physics of the generated traces against their series in print."""

from __future__ import annotations

import numpy as np
import pytest
from tests.bench.reading.settling.generator import FAMILIES, UNKNOWN, _crust, _slab, behind_sensor
from tests.bench.reading.settling.training import TRAINING


def test_a_crust_that_does_not_close_is_a_slab() -> None:
    # Crank, The Mathematics of Diffusion, eq. 4.18, half as thick as one: sum of 8/(pi m)^2 exp(-m^2 pi^2 t/4), odd m
    remaining, rate = _crust(1e-6)
    t, m = np.array([1e-3, 0.01, 0.1, 0.5, 1.0, 2.0]), 2.0 * np.arange(400) + 1.0
    series = (8.0 / (np.pi * m) ** 2 * np.exp(-np.outer(t, m**2 * np.pi**2 / 4.0))).sum(axis=1)
    assert remaining(np.log(t)) == pytest.approx(series, abs=3e-4)
    assert rate == pytest.approx(np.pi**2 / 4.0)


def test_a_crust_closes() -> None:
    # more is lost early, and the last part takes the time of the dry end
    open_, closing = _crust(0.5)[0], _crust(2.5)[0]
    assert closing(np.log(0.05)) < open_(np.log(0.05)) - 0.1
    for one in (open_, closing):
        assert np.log(one(np.log(2.0)) / one(np.log(2.5))) / 0.5 == pytest.approx(np.pi**2 / 4.0, rel=0.02)


def test_a_sensor_shows_a_series_late() -> None:
    t = np.arange(0.0, 600.0, 2.0)
    odd = 2.0 * np.arange(60) + 1.0

    def bare(at: np.ndarray) -> np.ndarray:
        return (8.0 / (np.pi * odd) ** 2 * np.exp(-np.outer(at, odd**2 / 300.0))).sum(axis=1)

    assert behind_sensor(t, bare, 4.0)[1:] == pytest.approx(_slab(t, 300.0, 4.0)[1:], abs=4e-3)
    assert behind_sensor(t, bare, 4.0)[20:] == pytest.approx(_slab(t, 300.0, 4.0)[20:], abs=2e-5)


@pytest.mark.parametrize("family", [*FAMILIES, *UNKNOWN, *(f"training {name}" for name in TRAINING)])
def test_each_family_falls_from_one_to_nothing(family: str) -> None:
    made = TRAINING[family[9:]] if family.startswith("training ") else {**FAMILIES, **UNKNOWN}[family]
    t, rng = np.arange(0.0, 1500.0), np.random.default_rng(4)
    for _ in range(5):
        found = made(rng, t)
        assert found[0] == pytest.approx(1.0, abs=0.02)
        assert (np.diff(found) <= 1e-12).all()
        assert found[-1] < 0.3
