"""Recording a run: what is kept, what is said of it, and every reason to refuse it."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import pytest
from tests.outlets.site import make
from tests.outlets.site.bench.shift import NOW, Shift, make_shift
from tests.outlets.site.lots.bench_day import OFF, make_check

from isohume.foundation.quantity.errors import InputError
from isohume.outlets.site.bench.actions.cover_portion import CoverPortion
from isohume.outlets.site.bench.actions.discard_portion import DiscardPortion
from isohume.outlets.site.bench.actions.record_run import RecordRun, refuse_warm
from isohume.outlets.site.bench.guard import Guarded
from isohume.outlets.site.bench.models import Lot, Portion, Run
from isohume.outlets.site.ledger.actions import By, Refused, perform
from isohume.outlets.site.ledger.trail import trail_of


@pytest.fixture
def shift(site_db: Path) -> Shift:
    return make_shift()


def test_a_run_is_kept_as_typed_with_its_check_its_line_and_its_trail(shift: Shift) -> None:
    portion = shift.portion()
    kept = shift.run(portion, "0.6320", instrument_number="1017")
    run = Run.objects.get(pk=kept.run.pk)
    assert (run.a_w, run.sample_temperature_c, run.block_temperature_c) == ("0.6320", "25.0", "25.0")
    assert run.opening_check == shift.bench.opening
    assert run.method_version == shift.bench.method
    assert run.typed
    assert run.counts
    assert kept.read == "first read of cup A"
    assert kept.warnings == ()
    portion.refresh_from_db()
    assert portion.done
    line = trail_of(run.ref)[-1]
    assert (line.said, line.by) == ("Recorded a run", "Analyst")
    assert line.details["a_w"] == "0.6320"
    assert line.details["opening_check"] == shift.bench.opening.ref
    for ref in (portion.ref, portion.sample.ref, portion.sample.lot.ref, shift.bench.instrument.ref):
        assert trail_of(ref)[-1].seq == line.seq


def test_a_second_read_of_a_cup_is_a_re_read_and_another_cup_is_not(shift: Shift) -> None:
    sample = shift.sample()
    cup_a, cup_b = shift.portion(sample), shift.portion(sample)
    shift.run(cup_a)
    again = shift.run(cup_a, "0.633", NOW + timedelta(minutes=6))
    assert again.read == "second read of cup A: a re-read, not a replicate"
    assert shift.run(cup_b, "0.631", NOW + timedelta(minutes=12)).read == "first read of cup B"


@pytest.mark.parametrize(
    ("a_w", "asked"),
    [("63.2", r"was ERH in percent meant \(a_w 0\.632\)"), ("63.2 %", "percent"), ("", "blank"), ("six", "fraction")],
)
def test_the_mask_asks_at_the_field(shift: Shift, a_w: str, asked: str) -> None:
    portion = shift.portion()
    with pytest.raises(InputError, match=asked) as caught:
        shift.run(portion, a_w)
    assert caught.value.field == "a_w"
    assert not Run.objects.exists()


def test_a_decimal_comma_is_read_and_said(shift: Shift) -> None:
    kept = shift.run(shift.portion(), "0,632")
    assert kept.run.a_w == "0.632"
    assert any("decimal comma" in said for said in kept.warnings)


@pytest.mark.parametrize("field", ["sample_temperature_c", "block_temperature_c"])
def test_fahrenheit_is_a_question(shift: Shift, field: str) -> None:
    with pytest.raises(InputError, match="degF") as caught:
        shift.run(shift.portion(), **{field: "77"})
    assert caught.value.field == field


def test_a_run_without_the_samples_temperature_says_that_the_guard_could_not_judge(shift: Shift) -> None:
    kept = shift.run(shift.portion(), sample_temperature_c="")
    assert kept.warnings == (
        "The sample's temperature was not given: the warm-sample guard could not judge this reading.",
    )


def test_a_method_with_a_mismatch_limit_asks_for_the_temperature(shift: Shift) -> None:
    shift.bench.method.mismatch_limit_c = "1.0"
    shift.bench.method.save()
    with pytest.raises(InputError) as caught:
        shift.run(shift.portion(), sample_temperature_c="")
    assert caught.value.field == "sample_temperature_c"


def test_a_warm_sample_waits_unless_a_reason_is_given_and_kept(shift: Shift) -> None:
    portion = shift.portion()
    with pytest.raises(Refused, match="Wait until it is within the limit"):
        shift.run(portion, sample_temperature_c="27.6")
    kept = shift.run(portion, sample_temperature_c="27.6", override_reason="Line stands, manager asked")
    assert kept.run.override_reason == "Line stands, manager asked"
    assert any("read all the same: Line stands" in said for said in kept.warnings)


def test_no_reason_lets_water_condense_on_the_block(shift: Shift) -> None:
    """Row 10 of the trade's list: 27 degC in a 25 degC block at 0.93 would condense above 1.2 K."""
    spec = shift.bench.product.specification
    spec.expected_a_w = "0.93"
    guarded = Guarded(spec, shift.bench.method, shift.bench.instrument, "27", "25.0", "Hurry")
    with pytest.raises(Refused, match=r"would condense on the block above 1\.2 K"):
        refuse_warm(guarded, "0.640")


def test_a_reading_wetter_than_expected_is_guarded_as_what_it_is(shift: Shift) -> None:
    spec = shift.bench.product.specification
    guarded = Guarded(spec, shift.bench.method, shift.bench.instrument, "27", "25.0")
    refuse_warm(guarded, "0.632")
    with pytest.raises(Refused, match="would condense"):
        refuse_warm(guarded, "0.93")


def test_a_block_outside_the_methods_band_is_kept_and_said(shift: Shift) -> None:
    kept = shift.run(shift.portion(), block_temperature_c="25.9", sample_temperature_c="25.9")
    assert any("outside the method's 25.0 +- 0.5 degC" in said for said in kept.warnings)


def test_a_cup_that_stood_too_long_is_kept_and_said(shift: Shift) -> None:
    portion = shift.portion(cover="open")  # prepared 40 minutes before; the method allows 10
    kept = shift.run(portion)
    assert any("open for 40 min, beyond the method's 10 min" in said for said in kept.warnings)


def test_a_new_cover_starts_the_clock_again(shift: Shift) -> None:
    portion = shift.portion(cover="open")
    perform(CoverPortion(portion, "lidded"), shift.by(minutes=-35))
    assert shift.run(portion).warnings == ()


def test_a_value_unlike_the_product_is_kept_with_the_slip_it_may_be(shift: Shift) -> None:
    for day in range(10):
        lot = shift.lot(f"SB-09{day:02d}-01")
        shift.run(shift.portion(shift.sample(lot)), f"0.6{28 + day % 5}", NOW - timedelta(minutes=day))
    kept = shift.run(shift.portion(shift.sample(shift.lot())), "0.362")
    assert "0.362 is not plausible: Soft oat bar (whole bar) usually reads 0.63" in kept.run.plausibility
    assert "0.632 would fit: the digits 3 and 6 swapped" in kept.run.plausibility


def test_an_instruments_number_comes_once_and_the_runs_that_have_it_are_named(shift: Shift) -> None:
    sample = shift.sample()
    first = shift.run(shift.portion(sample), instrument_number="118")
    with pytest.raises(InputError, match=f"run {first.run.pk} of SB-0916-03 / 1 / A") as caught:
        shift.run(shift.portion(sample), instrument_number="118")
    assert caught.value.field == "instrument_number"


def test_the_same_cup_at_the_same_moment_is_one_run(shift: Shift) -> None:
    portion = shift.portion()
    kept = shift.run(portion)
    with pytest.raises(InputError, match=f"run {kept.run.pk} is of this cup at this time"):
        shift.run(portion)


@pytest.mark.parametrize(
    ("read_at", "allowed"),
    [
        ("2026-09-16T10:06", "a time that has passed"),
        ("2026-09-16T10:06:00+01:00", "a time that has passed"),
        ("2026-09-16T10:19+01:00", "a time that has passed"),
        ("2026-09-16T09:19", "after the cup was prepared"),
        ("16.9.2026 10:00", "ISO 8601"),
    ],
)
def test_a_reading_is_neither_in_the_future_nor_before_its_cup(shift: Shift, read_at: str, allowed: str) -> None:
    with pytest.raises(InputError, match=allowed) as caught:
        shift.run(shift.portion(), read_at=read_at)
    assert caught.value.field == "read_at"


def test_a_time_without_offset_is_the_plants_own(shift: Shift) -> None:
    kept = shift.run(shift.portion(), read_at="2026-09-16T09:45")
    assert kept.run.read_at == datetime(2026, 9, 16, 8, 45, tzinfo=UTC)


def test_without_a_check_there_is_no_reading(shift: Shift) -> None:
    instrument = make.make_instrument(shift.bench.site, "OW-2")
    with pytest.raises(Refused, match="check"):
        perform(RecordRun(shift.portion(), instrument, "0.632"), shift.by())


def test_after_a_failed_check_there_is_no_reading(shift: Shift) -> None:
    bench = shift.bench
    make_check(bench.instrument, bench.method, bench.analyst, NOW - timedelta(minutes=20), "closing", OFF)
    with pytest.raises(Refused):
        shift.run(shift.portion())


def test_a_limit_that_the_references_do_not_bracket_is_refused(shift: Shift) -> None:
    other = make.make_product(shift.bench.method, "Moist bar", upper="0.80", expected_a_w="0.78")
    shift.bench.product = other
    with pytest.raises(Refused):
        shift.run(shift.portion(), "0.70")


def test_an_instrument_out_of_use_does_not_speak(shift: Shift) -> None:
    shift.bench.instrument.in_use = False
    shift.bench.instrument.out_of_use_reason = "Fan rattles"
    with pytest.raises(Refused, match="out of use: Fan rattles"):
        shift.run(shift.portion())


def test_competence_that_lapsed_before_the_reading_refuses(shift: Shift) -> None:
    shift.analyst.competences.update(lapses_on=date(2026, 9, 15))
    with pytest.raises(Refused, match="lapsed on 2026-09-15"):
        shift.run(shift.portion())


def test_the_manager_without_competence_may_not_run_and_the_auditor_never(shift: Shift) -> None:
    bench, portion = shift.bench, shift.portion()
    bench.manager.competences.all().delete()
    with pytest.raises(Refused, match="no competence on record"):
        perform(RecordRun(portion, bench.instrument, "0.632"), By(bench.manager, NOW))
    with pytest.raises(Refused, match="this is for analyst, manager"):
        perform(RecordRun(portion, bench.instrument, "0.632"), By(bench.auditor, NOW))


def test_a_discarded_cup_is_not_read(shift: Shift) -> None:
    portion = shift.portion()
    perform(DiscardPortion(portion, "Spilled"), shift.by())
    with pytest.raises(Refused, match="was discarded: Spilled"):
        shift.run(portion)


@pytest.mark.parametrize("state", ["released", "rejected"])
def test_a_decided_lot_takes_a_run_only_with_a_reason(shift: Shift, state: str) -> None:
    portion = shift.portion()
    assert portion.sample.lot.state == "open"  # as it was read before somebody decided
    Lot.objects.update(state=state)
    with pytest.raises(Refused, match=f"is {state}: another run needs a reason"):
        shift.run(portion)
    kept = shift.run(portion, reason="Retained cup, complaint 7")
    assert trail_of(kept.run.ref)[-1].reason == "Retained cup, complaint 7"


def test_another_plants_instrument_and_another_plants_person_are_refused(shift: Shift) -> None:
    other = make_shift("three-gate")
    with pytest.raises(Refused, match="instrument belongs to another plant"):
        perform(RecordRun(shift.portion(), other.bench.instrument, "0.632"), shift.by())
    with pytest.raises(Refused, match="belongs to another plant"):
        perform(RecordRun(other.portion(), other.bench.instrument, "0.632"), shift.by())


def test_a_number_is_no_reason(shift: Shift) -> None:
    """A fast hand types the next cup's number into the field for the reason."""
    with pytest.raises(InputError) as caught:
        shift.run(shift.portion(), sample_temperature_c="27.6", override_reason="25.1")
    assert caught.value.field == "override_reason"


def test_one_mark_is_one_run_whoever_asks_first(shift: Shift) -> None:
    """Two requests of one row that both saw no run before: the second finds the first one's run under the lock."""
    portion = shift.portion()
    given = {"mark": "0123456789abcdef"}
    first = shift.run(portion, "0.6310", **given)
    lines = len(trail_of(portion.ref))
    again = shift.run(portion, "0.6310", NOW + timedelta(seconds=1), **given)
    assert (again.run, again.read, Run.objects.count()) == (first.run, first.read, 1)
    assert len(trail_of(portion.ref)) == lines, "nothing changed, so there is no line"
    assert shift.run(portion, "0.6310", NOW + timedelta(minutes=6), mark="fedcba9876543210").run != first.run


def test_a_cup_discarded_since_it_was_read_takes_no_run(shift: Shift) -> None:
    portion = shift.portion()
    perform(DiscardPortion(Portion.objects.get(pk=portion.pk), "Spilled"), shift.by())
    assert portion.discarded_reason == ""
    with pytest.raises(Refused, match="was discarded: Spilled"):
        shift.run(portion)
