"""The bias at a reading: the worked numbers of plant A, and its uncertainty against draws interpolated by numpy."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from isohume.bench.assurance.bias import BiasPoint, bias_at
from isohume.foundation.quantity.errors import InputError

# job.md, section 8, plant A: NaCl 0.741 (-0.012), Mg(NO3)2 -0.009; Greenspan 1977, table 2, at 25 degC
NITRATE = BiasPoint("Mg(NO3)2", 0.5289, -0.009, 0.0019, 0.0015)
SALT = BiasPoint("NaCl", 0.7529, -0.012, 0.0016, 0.0015)
DRAWS = 400_000


@pytest.mark.parametrize(("read", "corrected"), [(0.642, 0.653), (0.645, 0.656)])
def test_the_worked_numbers_of_plant_a(read: float, corrected: float) -> None:
    found = bias_at(read, [SALT, NITRATE])
    assert round(read - found.bias, 3) == corrected
    assert found.between == ("Mg(NO3)2", "NaCl")
    assert not found.outside


def test_a_reading_at_a_reference_has_its_bias_and_its_u() -> None:
    found = bias_at(SALT.read, [SALT, NITRATE])
    assert found.bias == pytest.approx(-0.012, abs=1e-15)
    stretch = (0.7529 - 0.5289) / (SALT.read - NITRATE.read)  # a unit of the reading is more than a unit of a_w
    assert found.u == pytest.approx(0.0016 * stretch, rel=1e-9)


@pytest.mark.parametrize("read", [0.53, 0.60, 0.642, 0.70, 0.74])
def test_u_between_references_against_monte_carlo(read: float) -> None:
    """JCGM 101: the two readings drawn, the shared part once; numpy interpolates the reading's true place.

    The bias between unequal ends bows by a drawn share of their difference: a parabola that is zero at both.
    """
    dice = np.random.default_rng(20260916)
    shared = dice.normal(0, 0.0015, DRAWS)
    low = NITRATE.read + shared + dice.normal(0, np.sqrt(0.0019**2 - 0.0015**2), DRAWS)
    high = SALT.read + shared + dice.normal(0, np.sqrt(0.0016**2 - 0.0015**2), DRAWS)
    true = np.array([np.interp(read, (r1, r2), (0.5289, 0.7529)) for r1, r2 in zip(low[:4], high[:4], strict=True)])
    places = 0.5289 + (read - low) * (0.7529 - 0.5289) / (high - low)
    inside = (low[:4] <= read) & (read <= high[:4])
    assert places[:4][inside] == pytest.approx(true[inside], abs=1e-12), "the same as numpy's own"
    found = bias_at(read, [NITRATE, SALT])
    t = np.interp(read, (NITRATE.read, SALT.read), (0.0, 1.0))
    places = places + dice.normal(0, 1, DRAWS) * t * (1 - t) * (SALT.deviation - NITRATE.deviation)
    assert read - found.bias == pytest.approx(places.mean(), abs=5e-5)
    assert found.u == pytest.approx(places.std(), rel=0.02)


def test_u_beyond_the_references_is_that_of_a_bias_that_goes_on_straight() -> None:
    """Drawn: references about their deviations, the line through them carried on, read at its end."""
    dice = np.random.default_rng(7)
    away = SALT.read + 0.10
    low = NITRATE.deviation + dice.normal(0, 0.0019, DRAWS)
    high = SALT.deviation + dice.normal(0, 0.0016, DRAWS)
    went_on = high + (high - low) / (SALT.read - NITRATE.read) * 0.10
    found = bias_at(away, [BiasPoint("Mg(NO3)2", 0.5289, -0.009, 0.0019), BiasPoint("NaCl", 0.7529, -0.012, 0.0016)])
    assert found.outside
    assert found.bias == SALT.deviation
    off = np.sqrt(np.mean((went_on - found.bias) ** 2))  # what taking the nearest costs where it goes on straight
    assert found.u == pytest.approx(off, rel=0.02)
    assert found.u > bias_at(SALT.read, [NITRATE, SALT]).u


def test_one_reference_says_nothing_about_elsewhere() -> None:
    there, away = bias_at(SALT.read, [SALT]), bias_at(0.60, [SALT])
    assert (there.outside, there.u) == (False, 0.0016)
    assert (away.outside, away.bias) == (True, -0.012)
    assert away.u >= 0.012


def test_mixed_up_bottles_give_a_number_with_all_its_doubt() -> None:
    mixed = [BiasPoint("MgCl2", 0.3278, 0.425, 0.002), BiasPoint("NaCl", 0.7529, -0.425, 0.002)]
    found = bias_at(0.60, mixed)
    assert found.u > 0.8
    assert any("mixed up" in said for said in found.reasons)


def test_unequal_deviations_leave_a_bias_between_them_in_doubt() -> None:
    """Half way between 0 and 0.04 the bias could be either: u is no less than a quarter of what they differ by."""
    points = [BiasPoint("Mg(NO3)2", 0.5289, 0.0, 0.0015), BiasPoint("NaCl", 0.7529, 0.040, 0.0015)]
    found = bias_at((points[0].read + points[1].read) / 2, points)
    assert found.believed
    assert found.u >= 0.040 / 4
    ends = [bias_at(point.read, points).u for point in points]
    assert max(ends) < 0.0020, "at a reference nothing is in doubt but the reference"


@pytest.mark.parametrize(
    ("read", "points", "why"),
    [
        (0.6312, [("MgCl2", 0.3278, 0.001), ("NaCl", 0.7529, 0.246)], "NaCl was off by +0.2460"),
        (0.6312, [("MgCl2", 0.3278, -0.3178), ("NaCl", 0.7529, -0.7229)], "is no water activity"),
        (0.9900, [("NaCl", 0.7529, -0.012), ("KCl", 0.8434, -0.015)], "1.0050 is no water activity"),
        (0.6312, [("NaCl", 0.7529, 0.246)], "NaCl was off by"),
        (0.6312, [("MgCl2", 0.3278, 0.425), ("NaCl", 0.7529, -0.425)], "MgCl2 was off by"),
    ],
)
def test_what_was_that_far_off_is_not_put_right(read: float, points: list[tuple[str, float, float]], why: str) -> None:
    """Beyond 0.05 an instrument needs service, not a correction: the doubt is as large as the deviation."""
    found = bias_at(read, [BiasPoint(name, a_w, off, 0.0017, 0.0015) for name, a_w, off in points])
    assert not found.believed
    assert found.reasons[0].startswith("No correction can be believed: ")
    assert why in found.reasons[0]
    assert found.u >= max(abs(off) for _, _, off in points)


def test_points_that_cannot_be_are_refused() -> None:
    for points in ([], [SALT, SALT], [BiasPoint("NaCl", 0.75, 0.0, 0.001, 0.002)]):
        with pytest.raises(InputError):
            bias_at(0.6, points)
    with pytest.raises(InputError):
        bias_at(float("nan"), [SALT])


@given(
    st.lists(st.floats(-0.03, 0.03), min_size=2, max_size=5),
    st.floats(0.05, 0.95),
    st.floats(0.0005, 0.004),
)
def test_the_bias_lies_between_those_of_its_neighbours(off: list[float], read: float, u: float) -> None:
    places = np.linspace(0.11, 0.85, len(off))
    points = [BiasPoint(f"r{k}", float(a), d, u, u / 2) for k, (a, d) in enumerate(zip(places, off, strict=True))]
    assume(all(one.read < other.read for one, other in pairwise(points)))
    found = bias_at(read, points)
    about = {point.name: point for point in points}
    deviations = [about[name].deviation for name in found.between]
    assert min(deviations) - 1e-12 <= found.bias <= max(deviations) + 1e-12
    assert found.u > 0
    assert found.outside == (not points[0].read <= read <= points[-1].read)
