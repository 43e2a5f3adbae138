"""Moisture and pH on a lot: kept as typed, judged by the bench's code, errors at their fields."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from tests.outlets.site.lots.bench_day import NOW, Bench, judge, make_bench, make_lot

from isohume.foundation.quantity.errors import InputError
from isohume.outlets.site.bench.models import Lot
from isohume.outlets.site.ledger.actions import By, Refused, perform
from isohume.outlets.site.ledger.trail import trail_of
from isohume.outlets.site.lots.actions.record_moisture import RecordMoisture
from isohume.outlets.site.lots.actions.record_ph import RecordPh
from isohume.outlets.site.lots.companion_numbers import moisture_of, ph_of
from isohume.outlets.site.lots.frozen import frozen
from isohume.outlets.site.lots.models import MoistureDetermination, PhDetermination

DISH = {"dish_g": "21.4032", "with_sample_g": "26.4418", "with_dry_g": "25.8461"}
BUFFERS = [
    {"nominal": "4.01", "read": "4.02", "temperature_c": "24.8"},
    {"nominal": "7.00", "read": "6.99", "temperature_c": ""},
]


@pytest.fixture
def bench(site_db: Path) -> Bench:
    """A bench with a checked instrument."""
    return make_bench()


def moisture(lot: Lot, **more: Any) -> RecordMoisture:
    """Two dishes, on a balance that passes."""
    given = {
        "basis": "wet",
        "method": "oven, 102 degC, 4 h",
        "dishes": [DISH, {**DISH, "with_dry_g": "25,8500"}],
        "check_nominal_g": "20.0000",
        "check_read_g": "20.0001",
        "check_limit_g": "0.0005",
        **more,
    }
    return RecordMoisture(lot, **given)


def acidity(lot: Lot, **more: Any) -> RecordPh:
    """Two readings, on a meter that passes."""
    given = {
        "values": ["5.62", "5.63"],
        "temperature_c": "24.8",
        "method": "glass electrode",
        "buffers": BUFFERS,
        "limit": "0.05",
        **more,
    }
    return RecordPh(lot, **given)


def test_moisture_is_kept_as_typed_and_stands_in_the_record(bench: Bench) -> None:
    lot = make_lot(bench, "SB-1", "0.6315", "0.6331")
    found = perform(moisture(lot), By(bench.analyst, NOW))
    assert MoistureDetermination.objects.get().dishes[1]["with_dry_g"] == "25,8500"
    # (26.4418 - 25.8461)/5.0386 = 0.118227, (26.4418 - 25.8500)/5.0386 = 0.117453: mean 0.117840 by hand
    assert moisture_of(found).value == pytest.approx(0.117840, abs=2e-6)
    line = trail_of(lot.ref)[-1]
    assert (line.kind, line.by) == ("moisture_recorded", "Analyst")
    assert line.details["dishes"][0] == DISH
    kept = frozen(judge(bench, lot).record).content["companions"]
    assert [c["quantity"] for c in kept] == ["moisture"]
    assert kept[0]["value"] == pytest.approx(0.117840, abs=2e-6)


def test_a_balance_that_failed_its_check_states_no_moisture(bench: Bench) -> None:
    found = perform(moisture(make_lot(bench), check_read_g="20.0020"), By(bench.analyst, NOW))
    companion = moisture_of(found)
    assert companion.value is None
    assert "balance check failed" in companion.text


@pytest.mark.parametrize(
    ("field", "more"),
    [
        ("basis", {"basis": ""}),
        ("method", {"method": " "}),
        ("dish_g_1", {"dishes": []}),
        ("dish_g_1", {"dishes": [DISH] * 7}),
        ("with_dry_g_2", {"dishes": [DISH, {**DISH, "with_dry_g": "26.9"}]}),
        ("with_sample_g_1", {"dishes": [{**DISH, "with_sample_g": ""}]}),
        ("check_read_g", {"check_read_g": "twenty"}),
        ("check_limit_g", {"check_limit_g": "0"}),
        ("u_wet_basis", {"u_wet_basis": "1.5"}),
        ("at", {"at": (NOW + timedelta(hours=1)).isoformat()}),
    ],
)
def test_a_bad_moisture_is_refused_at_its_field(bench: Bench, field: str, more: dict[str, Any]) -> None:
    with pytest.raises(InputError) as refused:
        perform(moisture(make_lot(bench), **more), By(bench.analyst, NOW))
    assert refused.value.field == field
    assert MoistureDetermination.objects.count() == 0


def test_ph_is_kept_with_its_buffers_and_their_temperature(bench: Bench) -> None:
    lot = make_lot(bench, "SB-1", "0.6315", "0.6331")
    found = perform(acidity(lot, u="0.02"), By(bench.analyst, NOW))
    assert ph_of(found).value == pytest.approx(5.625)
    assert trail_of(lot.ref)[-1].kind == "ph_recorded"
    kept = frozen(judge(bench, lot).record).content["companions"][0]
    assert kept["check"]["text"] == "Buffers: 4.01 read 4.02 at 24.8 degC, 7.00 read 6.99, within 0.05."


def test_a_meter_off_its_buffers_states_no_ph(bench: Bench) -> None:
    found = perform(acidity(make_lot(bench), limit="0.005"), By(bench.analyst, NOW))
    assert ph_of(found).value is None


@pytest.mark.parametrize(
    ("field", "more"),
    [
        ("value_1", {"values": []}),
        ("value_2", {"values": ["5.6", "56"]}),
        ("temperature_c", {"temperature_c": "200"}),
        ("nominal_1", {"buffers": BUFFERS[:1]}),
        ("read_2", {"buffers": [BUFFERS[0], {"nominal": "7.00", "read": "x"}]}),
        ("temperature_c_1", {"buffers": [{**BUFFERS[0], "temperature_c": "999"}, BUFFERS[1]]}),
        ("limit", {"limit": ""}),
        ("u", {"u": "0"}),
        ("method", {"method": ""}),
    ],
)
def test_a_bad_ph_is_refused_at_its_field(bench: Bench, field: str, more: dict[str, Any]) -> None:
    with pytest.raises(InputError) as refused:
        perform(acidity(make_lot(bench), **more), By(bench.analyst, NOW))
    assert refused.value.field == field
    assert PhDetermination.objects.count() == 0


def test_the_last_determination_stands_in_the_record(bench: Bench) -> None:
    lot = make_lot(bench, "SB-1", "0.6315", "0.6331")
    perform(acidity(lot), By(bench.analyst, NOW))
    perform(acidity(lot, values=["5.10"]), By(bench.analyst, NOW))
    assert frozen(judge(bench, lot).record).content["companions"][0]["value"] == pytest.approx(5.10)


def test_a_decided_lot_another_plant_or_another_role_takes_none(bench: Bench) -> None:
    lot = make_lot(bench)
    other = make_bench("other-plant")
    for person, said in ((bench.officer, "this is for"), (other.analyst, "another plant")):
        for action in (moisture(lot), acidity(lot)):
            with pytest.raises(Refused, match=said):
                perform(action, By(person, NOW))
    Lot.objects.filter(pk=lot.pk).update(state="released")
    for action in (moisture(lot), acidity(lot)):
        with pytest.raises(Refused, match="is released: hold it first"):
            perform(action, By(bench.analyst, NOW))
