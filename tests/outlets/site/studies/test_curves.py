"""A saved curve read between its places: against scipy's monotone cubic, and against a curve that is known."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.interpolate import PchipInterpolator

from isohume.outlets.site.studies.curves import Curve


def gab(a: np.ndarray) -> np.ndarray:
    """Monolayer 0.06, C 12, K 0.95: the example of the trade."""
    u = 0.95 * a
    return 0.06 * 12 * u / ((1 - u) * (1 - u + 12 * u))


def test_a_gab_curve_between_the_places_of_the_grid() -> None:
    grid, asked = np.linspace(0.1, 0.9, 321), np.linspace(0.1, 0.9, 1237)
    slopes = (gab(grid + 1e-6) - gab(grid - 1e-6)) / 2e-6
    curve = Curve(grid.tolist(), gab(grid).tolist(), slopes.tolist())
    assert np.abs(np.array([curve.at(a) for a in asked]) - gab(asked)).max() < 1e-7
    without = Curve(grid.tolist(), gab(grid).tolist())
    assert np.abs(np.array([without.at(a) for a in asked]) - gab(asked)).max() < 2e-5
    assert curve.at(0.5) == pytest.approx(0.1046, abs=5e-5)  # trade example, four decimals
    back = np.array([curve.where(x) for x in gab(asked)])
    assert np.abs(back - asked).max() < 1e-6


@settings(derandomize=True, max_examples=60)
@given(st.lists(st.floats(0.01, 5.0), min_size=3, max_size=12), st.lists(st.floats(0.0, 5.0), min_size=12, max_size=12))
def test_inside_it_is_the_monotone_cubic_of_scipy(steps: list[float], rises: list[float]) -> None:
    x, y = np.cumsum(steps), np.cumsum(rises[: len(steps)])
    curve, theirs = Curve(x.tolist(), y.tolist()), PchipInterpolator(x, y)
    for a in np.linspace(x[1], x[-2], 17):  # the first and last piece begin with another slope
        assert curve.at(float(a)) == pytest.approx(float(theirs(a)), rel=1e-9, abs=1e-9)
    dense = [curve.at(float(a)) for a in np.linspace(x[0], x[-1], 200)]
    assert min(np.diff(dense)) >= -1e-9  # what rises in the grid rises between


def test_it_has_its_own_places_and_nothing_beyond() -> None:
    curve = Curve([0.1, 0.4, 0.8], [0.02, 0.08, 0.2])
    assert [curve.at(a) for a in (0.1, 0.4, 0.8)] == [0.02, 0.08, 0.2]
    assert curve.where(0.019) is None
    assert curve.where(0.21) is None
