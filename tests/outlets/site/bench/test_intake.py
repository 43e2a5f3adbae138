"""Lots, samples and cups as they come in."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import pytest
from tests.outlets.site import make
from tests.outlets.site.bench.shift import NOW, Shift, make_shift

from isohume.foundation.quantity.errors import InputError
from isohume.outlets.site.bench.actions.cover_portion import CoverPortion
from isohume.outlets.site.bench.actions.discard_portion import DiscardPortion
from isohume.outlets.site.bench.actions.prepare_portion import PreparePortion
from isohume.outlets.site.bench.actions.receive_lot import ReceiveLot
from isohume.outlets.site.bench.actions.take_temperature import TakeTemperature
from isohume.outlets.site.bench.codes import next_letter
from isohume.outlets.site.bench.models import Lot, Portion, Sample
from isohume.outlets.site.bench.moments import event_time
from isohume.outlets.site.ledger.actions import Refused, perform
from isohume.outlets.site.ledger.trail import trail_of
from isohume.outlets.site.register.models import Product


@pytest.fixture
def shift(site_db: Path) -> Shift:
    return make_shift()


def test_a_lot_keeps_the_specification_of_its_day(shift: Shift) -> None:
    lot = shift.lot("SB-0916-03", produced_on="2026-09-15", description="Line 2", customer="Own stock")
    assert lot.specification == shift.bench.product.specification
    assert (lot.key, lot.state, lot.produced_on) == ("sb-0916-03", "open", date(2026, 9, 15))
    line = trail_of(lot.ref)[-1]
    assert (line.said, line.details["specification"]) == ("Received a lot", "4")
    assert trail_of(shift.bench.product.ref)[-1].seq == line.seq


def test_a_code_is_one_lots_in_any_case(shift: Shift) -> None:
    shift.lot("SB-0916-03")
    with pytest.raises(InputError, match="no lot has yet"):
        shift.lot("sb-0916-03")
    make_shift("three-gate").lot("SB-0916-03")  # another plant has codes of its own


@pytest.mark.parametrize("code", ["", "  ", "SB\u20110916", "SB\u200b1", "\uff33\uff22-1", "x" * 61, "SB\n1"])
def test_codes_that_only_look_plain_are_refused(shift: Shift, code: str) -> None:
    with pytest.raises(InputError) as caught:
        shift.lot(code)
    assert caught.value.field == "code"


def test_a_lot_is_not_made_after_it_came(shift: Shift) -> None:
    with pytest.raises(InputError, match="not after the lot was received"):
        shift.lot(produced_on="2026-09-17")
    with pytest.raises(InputError, match="a day such as"):
        shift.lot(produced_on="yesterday")


def test_a_product_without_specification_takes_no_lot(shift: Shift) -> None:
    bare = Product.objects.create(
        site=shift.bench.site, name="New bar", form="baked goods", method=shift.bench.method.method
    )
    with pytest.raises(Refused, match="has no specification"):
        perform(ReceiveLot(bare, "NB-1"), shift.by())


def test_a_product_outside_the_methods_scope_is_taken_and_said(shift: Shift) -> None:
    product = make.make_product(shift.bench.method, "Cream")
    product.scope_flags = ["water-in-oil emulsion"]
    lot = perform(ReceiveLot(product, "CR-1"), shift.by())
    assert "ISO 18787 excludes water-in-oil emulsions." in trail_of(lot.ref)[-1].details["scope"]


@pytest.mark.parametrize("what", ["officer", "auditor"])
def test_intake_is_for_the_bench(shift: Shift, what: str) -> None:
    person = getattr(shift.bench, what)
    with pytest.raises(Refused, match="this is for analyst, manager"):
        perform(ReceiveLot(shift.bench.product, "SB-1"), shift.by(person))
    assert not Lot.objects.exists()


def test_a_sample_and_its_cups_come_in_one_act(shift: Shift) -> None:
    sample = shift.sample(temperature_c="28.4", portions="2", cover="lidded")
    assert (sample.code, sample.component, sample.sealed) == ("1", "whole bar", True)
    cups = list(sample.portions.order_by("pk"))
    known = [(cup.code, cup.cover, cup.temperature_c) for cup in cups]
    assert known == [("A", "lidded", "28.4"), ("B", "lidded", "28.4")]
    said = [line.said for line in trail_of(sample.ref)]
    assert said == ["Prepared a portion", "Prepared a portion", "Received a sample"]
    assert shift.sample(sample.lot).code == "2"


@pytest.mark.parametrize(
    ("field", "typed"),
    [
        ("position", " "),
        ("sealed", ""),
        ("sealed", "perhaps"),
        ("temperature_c", "82 F"),
        ("portions", "11"),
        ("portions", "two"),
        ("code", "S\u20111"),
        ("received_at", "2026-09-17T08:00"),
    ],
)
def test_a_sample_says_where_and_how_it_came(shift: Shift, field: str, typed: str) -> None:
    lot = shift.lot()
    with pytest.raises(InputError) as caught:
        shift.sample(lot, **{field: typed})
    assert caught.value.field == field
    assert not Sample.objects.exists()


def test_a_sample_does_not_come_before_its_lot_was_made(shift: Shift) -> None:
    lot = shift.lot(produced_on="2026-09-15")
    with pytest.raises(InputError, match="after the lot was made"):
        shift.sample(lot, received_at="2026-09-14T12:00")


def test_one_of_several_components_must_be_named(shift: Shift) -> None:
    shift.bench.product.components = ["base", "filling"]
    shift.bench.product.save()
    lot = shift.lot()
    with pytest.raises(InputError, match="which component was sampled: base, filling"):
        shift.sample(lot)
    with pytest.raises(InputError, match="base, filling"):
        shift.sample(lot, component="icing")
    assert shift.sample(lot, component="FILLING").component == "filling"


@pytest.mark.parametrize("state", ["released", "rejected"])
def test_a_decided_lot_takes_a_sample_only_with_a_reason(shift: Shift, state: str) -> None:
    lot = shift.lot()
    Lot.objects.update(state=state)  # decided since it was read
    with pytest.raises(Refused, match="another sample needs a reason"):
        shift.sample(lot)
    sample = shift.sample(lot, reason="Complaint 12", portions=1)
    assert trail_of(sample.ref)[-1].reason == "Complaint 12"
    with pytest.raises(Refused, match="another portion needs a reason"):
        perform(PreparePortion(sample), shift.by())


def test_a_samples_code_comes_once_a_lot(shift: Shift) -> None:
    lot = shift.lot()
    shift.sample(lot, code="S1")
    with pytest.raises(InputError, match="no sample of lot"):
        shift.sample(lot, code="s1")


def test_cups_get_letters_and_their_clock_starts(shift: Shift) -> None:
    sample = shift.sample()
    first, second = shift.portion(sample), shift.portion(sample, cover="film-wrapped")
    assert (first.code, second.code) == ("A", "B")
    assert second.covered_at == second.prepared_at == NOW - timedelta(minutes=40)
    assert second.scan_code == f"iso:p:{second.pk}"
    with pytest.raises(InputError, match="no cup of sample 1"):
        shift.portion(sample, code="a")
    assert next_letter([chr(65 + i) for i in range(26)]) == "A2"


@pytest.mark.parametrize(
    ("field", "typed"), [("cover", "foil"), ("temperature_c", "300"), ("prepared_at", "2026-09-16T08:00")]
)
def test_a_cup_is_filled_after_its_sample_came_under_a_known_cover(shift: Shift, field: str, typed: str) -> None:
    sample = shift.sample()  # came 09:10 at the plant
    with pytest.raises(InputError) as caught:
        shift.portion(sample, **{field: typed})
    assert caught.value.field == field
    assert not Portion.objects.exists()


def test_another_cover_starts_the_clock_from_its_time_and_the_old_one_is_in_the_trail(shift: Shift) -> None:
    portion = shift.portion()
    perform(CoverPortion(portion, "film-wrapped", "2026-09-16T09:50"), shift.by())
    portion.refresh_from_db()
    assert (portion.cover, portion.covered_at) == ("film-wrapped", datetime(2026, 9, 16, 8, 50, tzinfo=UTC))
    assert trail_of(portion.ref)[-1].details["cover"] == ["lidded", "film-wrapped"]
    with pytest.raises(InputError, match="after the last cover"):
        perform(CoverPortion(portion, "open", "2026-09-16T09:40"), shift.by())


def test_a_temperature_is_kept_with_its_time(shift: Shift) -> None:
    portion = shift.portion(temperature_c="28.9")
    perform(TakeTemperature(portion, "26.10"), shift.by())
    portion.refresh_from_db()
    assert (portion.temperature_c, portion.temperature_at) == ("26.10", NOW)
    assert trail_of(portion.ref)[-1].details["temperature_c"] == ["28.9", "26.10"]
    wrong = (("", "", "temperature_c"), ("x", "", "temperature_c"), ("25", "2026-09-16T09:00", "taken_at"))
    for typed, at, field in wrong:
        with pytest.raises(InputError) as caught:
            perform(TakeTemperature(portion, typed, at), shift.by())
        assert caught.value.field == field


def test_a_discarded_cup_says_why_and_takes_nothing_more(shift: Shift) -> None:
    portion = shift.portion()
    with pytest.raises(InputError, match="why the cup is discarded"):
        perform(DiscardPortion(portion, " "), shift.by())
    perform(DiscardPortion(portion, "Spilled"), shift.by())
    portion.refresh_from_db()
    assert portion.done
    assert trail_of(portion.ref)[-1].reason == "Spilled"
    for action in (DiscardPortion(portion, "Again"), CoverPortion(portion, "open"), TakeTemperature(portion, "25")):
        with pytest.raises(Refused, match="discarded"):
            perform(action, shift.by())


def test_the_hour_that_the_clocks_show_twice_needs_its_offset(shift: Shift) -> None:
    """Clocks in London go back on 2026-10-25 at 02:00, and forward on 2027-03-28 at 01:00 (tzdata)."""
    site, later = shift.bench.site, datetime(2027, 4, 1, tzinfo=UTC)
    with pytest.raises(InputError, match="showed this time twice"):
        event_time("2026-10-25T01:30", "read_at", site, later)
    assert event_time("2026-10-25T01:30+00:00", "read_at", site, later) == datetime(2026, 10, 25, 1, 30, tzinfo=UTC)
    at_once = datetime(2026, 10, 25, 1, 20, 40, tzinfo=UTC)  # what a form that starts with the present time sends
    second = datetime(2026, 10, 25, 1, 20, tzinfo=UTC)
    assert event_time("2026-10-25T01:20", "read_at", site, at_once) == second
    assert event_time("2026-10-25T01:20", "read_at", site, at_once + timedelta(minutes=3)) == second
    with pytest.raises(InputError, match="showed this time twice"):
        event_time("2026-10-25T01:20", "read_at", site, at_once + timedelta(minutes=9))
    with pytest.raises(InputError, match="showed this time twice"):
        event_time("2026-10-25T01:22", "read_at", site, at_once)  # ahead of the clock in the second pass
    during = datetime(2026, 10, 25, 0, 35, tzinfo=UTC)  # 01:35 in summer time: the second 01:30 has not come yet
    assert event_time("2026-10-25T01:30", "read_at", site, during) == datetime(2026, 10, 25, 0, 30, tzinfo=UTC)
    with pytest.raises(InputError, match="put forward over it"):
        event_time("2027-03-28T01:30", "read_at", site, later)


@pytest.mark.parametrize(
    "typed", ["0001-01-01T00:00+14:00", "0001-01-01T00:00", "1969-12-31T23:59Z", "0900-01-01T00:00-05:00"]
)
def test_a_year_that_no_bench_saw_is_refused_at_its_field(shift: Shift, typed: str) -> None:
    with pytest.raises(InputError, match="a time from 1970-01-01 on") as refused:
        event_time(typed, "read_at", shift.bench.site, NOW)
    assert refused.value.field == "read_at"
    with pytest.raises(InputError):
        event_time("9999-12-31T23:59-14:00", "read_at", shift.bench.site, NOW)
