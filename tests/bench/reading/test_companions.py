"""Moisture from weights and pH, each believed only with its own check; every percentage says its basis."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from isohume.bench.reading import balance_check, buffer_check, moisture, ph
from isohume.bench.reading.companions import Buffer, Weighing
from isohume.foundation.quantity import InputError
from isohume.foundation.quantity.moisture import dry_from_wet, wet_from_dry

D = Decimal
GOOD = balance_check(D("20"), D("20.0001"), D("0.0005"))


def test_wet_and_dry_basis() -> None:
    # 8.0 % wet basis = 8.70 % dry basis; 8.0 % dry basis = 7.41 % wet basis (arithmetic of the definition)
    assert dry_from_wet(0.080) == pytest.approx(0.0870, abs=5e-5)
    assert wet_from_dry(0.080) == pytest.approx(0.0741, abs=5e-5)


@given(st.floats(0, 0.99))
@settings(derandomize=True)
def test_bases_are_inverse(wet: float) -> None:
    assert wet_from_dry(dry_from_wet(wet)) == pytest.approx(wet, abs=1e-12)


def test_pure_water_has_no_dry_basis() -> None:
    with pytest.raises(InputError, match="moisture_wb"):
        dry_from_wet(1.0)


def test_moisture_states_both_bases() -> None:
    found = moisture([Weighing(D("20"), D("25"), D("24.6"))], "wet", 0.0006, "oven", GOOD)
    assert found.value == pytest.approx(0.08)
    assert found.basis == "wet basis"
    assert "8.000" in found.text
    assert "8.696" in found.text
    dry = moisture([Weighing(D("20"), D("25"), D("24.6"))], "dry", 0.0006, "oven", GOOD)
    assert dry.value == pytest.approx(0.086957, abs=1e-6)
    assert dry.u == pytest.approx(0.0006 / 0.92**2)


def test_a_failed_balance_check_states_no_moisture() -> None:
    bad = balance_check(D("20"), D("20.0006"), D("0.0005"))
    found = moisture([Weighing(D("20"), D("25"), D("24.6"))], "wet", 0.0006, "oven", bad)
    assert found.value is None
    assert "not stated" in found.text


@pytest.mark.parametrize(
    ("weighing", "field"),
    [
        (Weighing(D("20"), D("19"), D("18")), "with_sample_g"),
        (Weighing(D("20"), D("25"), D("25.1")), "with_dry_g"),
        (Weighing(D("20"), D("25"), D("20")), "with_dry_g"),
    ],
)
def test_weights_that_contradict_each_other(weighing: Weighing, field: str) -> None:
    with pytest.raises(InputError, match=field):
        moisture([weighing], "wet", None, "oven", GOOD)


def test_a_bare_percentage_is_refused() -> None:
    with pytest.raises(InputError, match="basis"):
        moisture([Weighing(D("20"), D("25"), D("24.6"))], "", None, "oven", GOOD)  # type: ignore[arg-type]


def test_ph_needs_two_buffers_within_the_limit() -> None:
    good = buffer_check([Buffer(D("4.01"), D("4.02")), Buffer(D("7.00"), D("6.99"))], D("0.05"))
    assert ph([D("5.62"), D("5.64")], D("25"), 0.02, "electrode", good).value == pytest.approx(5.63)
    bad = buffer_check([Buffer(D("4.01"), D("4.10")), Buffer(D("7.00"), D("6.99"))], D("0.05"))
    assert ph([D("5.62")], D("25"), 0.02, "electrode", bad).value is None
    with pytest.raises(InputError, match="two buffers"):
        buffer_check([Buffer(D("4.01"), D("4.02"))], D("0.05"))
    with pytest.raises(InputError, match="0 to 14"):
        ph([D("56.2")], D("25"), 0.02, "electrode", good)


def test_a_buffer_says_its_temperature_where_it_was_measured() -> None:
    buffers = [Buffer(Decimal("4.01"), Decimal("4.02"), Decimal("24.8")), Buffer(Decimal("7.00"), Decimal("6.99"))]
    text = buffer_check(buffers, Decimal("0.05")).text
    assert text == "Buffers: 4.01 read 4.02 at 24.8 degC, 7.00 read 6.99, within 0.05."
