"""The start sheet: warm-up and block against the method; the room is a caution."""

from __future__ import annotations

import pytest

from isohume.bench.assurance import StartSheet, judge_start
from isohume.foundation.quantity import InputError

GIVEN: dict[str, float | None] = {
    "room_temperature_c": 24.0,
    "room_rh_percent": 41.0,
    "warmed_up_min": 45,
    "warm_up_needed_min": 30,
    "block_temperature_c": 25.1,
    "method_temperature_c": 25.0,
    "tolerance_k": 0.5,
}


def start(**changed: float | None) -> StartSheet:
    """A start sheet of a good morning, with what is changed."""
    return judge_start(**(GIVEN | changed))  # type: ignore[arg-type]


def test_a_warm_instrument_with_its_block_at_temperature_may_start() -> None:
    found = start()
    assert found.may_start
    assert found.cautions == ()
    assert any("25.1" in reason for reason in found.reasons)
    assert any("45 min" in reason for reason in found.reasons)


@pytest.mark.parametrize(("warmed", "may"), [(30, True), (29.5, False), (0, False)])
def test_it_waits_until_it_is_warmed_up(warmed: float, may: bool) -> None:
    found = start(warmed_up_min=warmed)
    assert found.may_start is may
    if not may:
        assert f"wait {30 - warmed:g} min more" in found.reasons[0]


@pytest.mark.parametrize(("block", "side"), [(25.5, ""), (24.5, ""), (25.6, "above"), (24.4, "below")])
def test_the_block_has_to_be_within_the_tolerance(block: float, side: str) -> None:
    found = start(block_temperature_c=block)
    assert found.may_start is (side == "")
    assert side in found.reasons[0]


def test_a_tolerance_typed_as_decimals_is_not_failed_by_binary_dust() -> None:
    """25.3 - 25 is 0.3000000000000007 in binary."""
    assert start(block_temperature_c=25.3, tolerance_k=0.3).may_start


def test_every_reason_against_is_given() -> None:
    assert len(start(warmed_up_min=5, block_temperature_c=30).reasons) == 2


def test_a_room_far_from_the_block_is_a_caution_and_forbids_nothing() -> None:
    for room, side in ((29.0, "warmer"), (18.0, "colder")):
        found = start(room_temperature_c=room)
        assert found.may_start
        assert side in found.cautions[0]


def test_humidity_may_be_unread_and_that_is_said() -> None:
    assert "not read" in start(room_rh_percent=None).cautions[0]


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("room_temperature_c", 75.0),
        ("room_temperature_c", float("nan")),
        ("room_rh_percent", 101.0),
        ("room_rh_percent", -1.0),
        ("warmed_up_min", -1.0),
        ("warm_up_needed_min", float("inf")),
        ("block_temperature_c", 77.0),
        ("method_temperature_c", 298.15),
        ("tolerance_k", -0.5),
    ],
)
def test_what_makes_no_sense_is_refused_at_its_field(field: str, value: float) -> None:
    with pytest.raises(InputError) as refused:
        start(**{field: value})
    assert refused.value.field == field
