"""The uncertainty of a reading that had not come to rest."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from isohume.bench.reading.early_value import u_of_early_value
from isohume.foundation.quantity import InputError


def test_the_way_still_to_go_counts_in_full() -> None:
    """3, 4, 5: 0.0030 still to go and u 0.0040 of the forecast make 0.0050."""
    assert u_of_early_value(0.6420, 0.6450, 0.0040) == pytest.approx(0.0050, rel=1e-9)


def test_a_reading_at_its_end_has_the_forecast_s_own_uncertainty() -> None:
    assert u_of_early_value(0.6450, 0.6450, 0.0040) == 0.0040


@given(st.floats(0.0, 1.0), st.floats(0.0, 1.0), st.floats(1e-6, 0.1))
def test_it_is_never_below_either_part(value: float, forecast: float, u: float) -> None:
    found = u_of_early_value(value, forecast, u)
    assert found >= u
    assert found >= abs(forecast - value)


@pytest.mark.parametrize(
    ("value", "forecast", "u", "field"),
    [
        (float("nan"), 0.6, 0.004, "value"),
        (0.6, float("inf"), 0.004, "forecast"),
        (0.6, 0.6, 0.0, "u_forecast"),
        (0.6, 0.6, float("nan"), "u_forecast"),
    ],
)
def test_numbers_that_are_none_are_refused(value: float, forecast: float, u: float, field: str) -> None:
    with pytest.raises(InputError) as error:
        u_of_early_value(value, forecast, u)
    assert error.value.field == field
