"""Voiding needs its cause first and a second person; a correction keeps the original."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path

import pytest
from tests.outlets.site.bench.shift import NOW, Shift, make_shift

from isohume.foundation.quantity.errors import InputError
from isohume.outlets.site.bench.actions.correct_run import CorrectRun
from isohume.outlets.site.bench.actions.void_run import VoidRun
from isohume.outlets.site.bench.models import Lot, Portion, Run
from isohume.outlets.site.ledger.actions import Refused, perform
from isohume.outlets.site.ledger.models import TrailLine
from isohume.outlets.site.ledger.trail import trail_of


@pytest.fixture
def shift(site_db: Path) -> Shift:
    return make_shift()


def later(minutes: float) -> dict[str, object]:
    return {"at": NOW + timedelta(minutes=minutes)}


def test_a_second_person_voids_with_a_cause_and_the_number_stays(shift: Shift) -> None:
    portion = shift.portion()
    run = shift.run(portion, "0.702").run
    perform(VoidRun(run, "Condensation on the block"), shift.by(shift.bench.manager, 5))
    run = Run.objects.get(pk=run.pk)
    assert (run.a_w, run.void_reason, run.voided_by) == ("0.702", "Condensation on the block", shift.bench.manager)
    assert not run.counts
    portion.refresh_from_db()
    assert not portion.done  # the cup waits again
    line = trail_of(run.ref)[-1]
    assert (line.said, line.by, line.reason) == ("Voided a run", "Manager", "Condensation on the block")
    assert shift.run(portion, "0.633", **later(10)).read == "first read of cup A"


def test_a_retest_first_is_refused(shift: Shift) -> None:
    """Row 33 of the trade's list: no void after the newer number is known, of the cup or of a retest's cup."""
    sample = shift.sample()
    cup_a = shift.portion(sample)
    first = shift.run(cup_a, "0.702").run
    again = shift.run(cup_a, "0.633", **later(6)).run
    with pytest.raises(Refused, match=rf"run {again.pk} of cup A.*the cause comes before the retest"):
        perform(VoidRun(first, "Condensation"), shift.by(shift.bench.manager, 10))
    cup_b = shift.portion(shift.sample(sample.lot))  # another sample of the lot is a retest too, whatever time is typed
    other = shift.run(cup_b, "0.631", **later(12)).run
    with pytest.raises(Refused, match=f"run {other.pk} of cup A"):
        perform(VoidRun(again, "Condensation"), shift.by(shift.bench.manager, 15))
    perform(VoidRun(other, "Spilled into the chamber"), shift.by(shift.bench.manager, 15))


def test_duplicates_that_stood_ready_together_do_not_stand_in_the_way(shift: Shift) -> None:
    sample = shift.sample()
    cup_a, cup_b = shift.portion(sample), shift.portion(sample)
    first = shift.run(cup_a, "0.702").run
    shift.run(cup_b, "0.631", **later(6))
    perform(VoidRun(first, "Condensation on the block"), shift.by(shift.bench.manager, 10))
    assert Run.objects.get(pk=first.pk).void_reason == "Condensation on the block"


def test_a_cup_prepared_after_the_run_is_a_retest_by_its_time_alone(shift: Shift) -> None:
    """Where the ledger does not say in which order: the cup's own time does."""
    sample = shift.sample()
    first = shift.run(shift.portion(sample), "0.702").run
    after = shift.portion(sample)
    other = shift.run(after, "0.631", **later(9)).run
    Portion.objects.filter(pk=after.pk).update(prepared_at=NOW + timedelta(minutes=4))
    TrailLine.objects.filter(ref=after.ref).delete()
    with pytest.raises(Refused, match=f"run {other.pk} of cup B"):
        perform(VoidRun(first, "Condensation"), shift.by(shift.bench.manager, 15))


def test_a_void_newer_run_was_seen_all_the_same(shift: Shift) -> None:
    portion = shift.portion()
    first = shift.run(portion, "0.702").run
    second = shift.run(portion, "0.633", **later(6)).run
    perform(VoidRun(second, "Lid left on"), shift.by(shift.bench.manager, 8))
    with pytest.raises(Refused, match="the cause comes before the retest"):
        perform(VoidRun(first, "Condensation"), shift.by(shift.bench.manager, 9))


def test_the_run_of_another_sample_does_not_stand_in_the_way(shift: Shift) -> None:
    lot = shift.lot()
    cup, other = shift.portion(shift.sample(lot)), shift.portion(shift.sample(lot))
    first = shift.run(cup).run
    shift.run(other, "0.640", **later(6))
    perform(VoidRun(first, "Rim smeared"), shift.by(shift.bench.manager, 10))


def test_who_recorded_it_does_not_void_it_and_a_cause_is_needed(shift: Shift) -> None:
    run = shift.run(shift.portion()).run
    with pytest.raises(Refused, match="a second person voids it"):
        perform(VoidRun(run, "Condensation"), shift.by())
    with pytest.raises(InputError, match="the cause that was found"):
        perform(VoidRun(run, " "), shift.by(shift.bench.manager))
    with pytest.raises(Refused, match="this is for analyst, manager"):
        perform(VoidRun(run, "Condensation"), shift.by(shift.bench.auditor))
    perform(VoidRun(run, "Condensation"), shift.by(shift.bench.manager))
    with pytest.raises(Refused, match="void already: Condensation"):
        perform(VoidRun(run, "Again"), shift.by(shift.bench.manager))


@pytest.mark.parametrize("state", ["released", "rejected"])
def test_the_runs_of_a_decided_lot_stay(shift: Shift, state: str) -> None:
    """Also where the run was read from the database before the lot was decided."""
    run = shift.run(shift.portion()).run
    Lot.objects.update(state=state)
    for action in (VoidRun(run, "Late"), CorrectRun(run, "0.633", reason="Late")):
        with pytest.raises(Refused, match="stay as they were decided on"):
            perform(action, shift.by(shift.bench.manager))


def test_what_happened_to_a_run_since_it_was_read_is_seen(shift: Shift) -> None:
    run = shift.run(shift.portion(), "0.618").run
    stale, stale_too = Run.objects.get(pk=run.pk), Run.objects.get(pk=run.pk)
    assert stale.counts  # the framework keeps from now on that there is no correction
    right = perform(CorrectRun(run, "0.681", reason="Swapped"), shift.by())
    for action in (VoidRun(stale, "Cause"), CorrectRun(stale, "0.682", reason="Again")):
        with pytest.raises(Refused, match=f"run {right.pk}"):
            perform(action, shift.by(shift.bench.manager))
    Run.objects.filter(pk=run.pk).update(void_reason="Condensation")
    with pytest.raises(Refused, match="void already: Condensation"):
        perform(VoidRun(stale_too, "Cause"), shift.by(shift.bench.manager))


def test_a_correction_is_another_row_beside_the_original(shift: Shift) -> None:
    run = shift.run(shift.portion(), "0.618", instrument_number="17").run
    right = perform(CorrectRun(run, "0.681", reason="Digits swapped against the print-out"), shift.by(minutes=3))
    run = Run.objects.get(pk=run.pk)
    assert (run.a_w, right.a_w) == ("0.618", "0.681")
    assert (right.corrects, right.read_at, right.instrument_number) == (run, run.read_at, "17")
    assert (run.counts, Run.objects.get(pk=right.pk).counts) == (False, True)
    line = trail_of(run.ref)[-1]
    assert line.details["a_w"] == ["0.618", "0.681"]
    assert line.reason == "Digits swapped against the print-out"
    assert shift.run(run.portion, "0.680", **later(9)).read.startswith("second read of cup A")


def test_a_correction_needs_a_reason_and_a_difference(shift: Shift) -> None:
    run = shift.run(shift.portion(), "0.632").run
    with pytest.raises(InputError) as caught:
        perform(CorrectRun(run, "0.633"), shift.by())
    assert caught.value.field == "reason"
    with pytest.raises(InputError, match="something that differs"):
        perform(CorrectRun(run, "0.632", reason="None"), shift.by())
    with pytest.raises(InputError, match="percent"):
        perform(CorrectRun(run, "63.3", reason="Slip"), shift.by())
    with pytest.raises(Refused, match="Wait until"):
        perform(CorrectRun(run, sample_temperature_c="28.5", reason="Slip"), shift.by())


def test_a_corrected_run_is_corrected_once_and_a_void_one_never(shift: Shift) -> None:
    run = shift.run(shift.portion(), "0.618").run
    right = perform(CorrectRun(run, "0.681", reason="Swapped"), shift.by())
    run = Run.objects.get(pk=run.pk)
    with pytest.raises(Refused, match=f"correct run {right.pk}"):
        perform(CorrectRun(run, "0.682", reason="Again"), shift.by())
    with pytest.raises(Refused, match=f"void the correction, run {right.pk}"):
        perform(VoidRun(run, "Cause"), shift.by(shift.bench.manager))
    perform(VoidRun(right, "Cause"), shift.by(shift.bench.manager))  # its original is no newer number
    with pytest.raises(Refused, match="is void"):
        perform(CorrectRun(right, "0.682", reason="Again"), shift.by())
