"""Re-reads that climb: job.md F3 and plant C."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from isohume.bench.reading.diagnosis.re_reads import climbing_re_reads
from isohume.foundation.quantity.errors import InputError

CLOVE = (0.520, 0.540, 0.555, 0.570)


def test_the_cloves_climb_on_one_instrument_and_not_on_the_other() -> None:
    found = climbing_re_reads(CLOVE, 0.003)
    assert found is not None
    assert found.reads == 4
    assert found.rise == pytest.approx(0.05)
    assert climbing_re_reads((0.480, 0.481, 0.479, 0.480), 0.003) is None


@pytest.mark.parametrize(
    "values",
    [
        (0.52, 0.57),  # two reads are a difference, not a climb
        (0.520, 0.540, 0.539, 0.570),  # one goes back
        (0.520, 0.523, 0.526, 0.5327),  # 0.0127 is within three u of a difference of 0.0042
        (0.570, 0.555, 0.540, 0.520),  # it dries
    ],
)
def test_what_is_no_climb(values: tuple[float, ...]) -> None:
    assert climbing_re_reads(values, 0.003) is None


@given(st.lists(st.floats(0.1, 0.9), min_size=3, max_size=6), st.floats(-0.05, 0.05))
def test_a_shift_of_all_reads_changes_nothing(values: list[float], shift: float) -> None:
    rounded = [round(value, 4) for value in values]
    moved = [round(value + round(shift, 4), 4) for value in rounded]
    found, again = climbing_re_reads(rounded, 0.003), climbing_re_reads(moved, 0.003)
    assert (found is None) == (again is None) or abs(rounded[-1] - rounded[0] - 0.0127279) < 1e-4


def test_an_uncertainty_is_needed() -> None:
    with pytest.raises(InputError, match="u_reading"):
        climbing_re_reads(CLOVE, 0.0)
