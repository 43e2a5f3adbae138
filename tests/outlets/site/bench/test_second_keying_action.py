"""The second keying: another person, both numbers kept, a difference answered for once."""

from __future__ import annotations

from pathlib import Path

import pytest
from tests.outlets.site.bench.shift import Shift, make_shift

from isohume.foundation.quantity.errors import InputError
from isohume.outlets.site.bench.actions.correct_run import CorrectRun
from isohume.outlets.site.bench.actions.key_second import KeySecond
from isohume.outlets.site.bench.actions.void_run import VoidRun
from isohume.outlets.site.bench.models import Lot, Run, SecondKeying
from isohume.outlets.site.ledger.actions import Refused, perform
from isohume.outlets.site.ledger.trail import trail_of
from isohume.outlets.site.lots.models import Deviation


@pytest.fixture
def shift(site_db: Path) -> Shift:
    return make_shift()


def test_keyings_that_agree_are_kept_and_open_nothing(shift: Shift) -> None:
    run = shift.run(shift.portion(), "0.6320").run
    keying = perform(KeySecond(run, "0.632"), shift.by(shift.bench.officer))
    assert (keying.agrees, keying.a_w, keying.by) == (True, "0.632", shift.bench.officer)
    assert not Deviation.objects.exists()
    assert trail_of(run.ref)[-1].details["agrees"] is True
    with pytest.raises(Refused, match="both keyings agree"):
        perform(KeySecond(run, "0.632"), shift.by(shift.bench.manager))


def test_a_difference_keeps_both_holds_the_lot_and_opens_one_deviation(shift: Shift) -> None:
    run = shift.run(shift.portion(), "0.618").run
    keying = perform(KeySecond(run, "0.681"), shift.by(shift.bench.manager))
    assert not keying.agrees
    assert "the digits 1 and 8 are swapped" in keying.words
    assert Run.objects.get(pk=run.pk).a_w == "0.618"
    deviation = Deviation.objects.get()
    assert (deviation.kind, deviation.run, deviation.lot.state) == ("keyings differ", run, "on hold")
    perform(KeySecond(run, "0.682"), shift.by(shift.bench.officer))
    assert Deviation.objects.count() == 1
    assert SecondKeying.objects.filter(run=run).count() == 2
    perform(KeySecond(run, "0.618"), shift.by(shift.bench.officer_2))  # the first was right after all
    assert Lot.objects.get().state == "on hold"  # until the deviation is closed


def test_the_correction_is_keyed_again_and_the_original_no_more(shift: Shift) -> None:
    run = shift.run(shift.portion(), "0.618").run
    perform(KeySecond(run, "0.681"), shift.by(shift.bench.officer))
    right = perform(CorrectRun(run, "0.681", reason="Swapped"), shift.by())
    with pytest.raises(Refused, match=f"key run {right.pk}"):
        perform(KeySecond(Run.objects.get(pk=run.pk), "0.681"), shift.by(shift.bench.manager))
    assert perform(KeySecond(right, "0.681"), shift.by(shift.bench.officer)).agrees


def test_who_keyed_first_does_not_key_again(shift: Shift) -> None:
    run = shift.run(shift.portion()).run
    with pytest.raises(Refused, match="another person keys it"):
        perform(KeySecond(run, "0.632"), shift.by())
    with pytest.raises(Refused, match="this is for"):
        perform(KeySecond(run, "0.632"), shift.by(shift.bench.auditor))


def test_nobody_keys_until_it_agrees(shift: Shift) -> None:
    """The answer to a keying shows the first number: a second try would be copying it."""
    run = shift.run(shift.portion(), "0.618").run
    assert not perform(KeySecond(run, "0.681"), shift.by(shift.bench.manager)).agrees
    with pytest.raises(Refused, match="already: a third person keys it, or a correction resolves it"):
        perform(KeySecond(run, "0.618"), shift.by(shift.bench.manager))
    assert SecondKeying.objects.count() == 1
    assert perform(KeySecond(run, "0.618"), shift.by(shift.bench.officer)).agrees


@pytest.mark.parametrize("state", ["released", "rejected"])
def test_a_decided_lot_is_not_keyed(shift: Shift, state: str) -> None:
    """Also where the run was read from the database before the lot was decided."""
    run = shift.run(shift.portion()).run
    assert run.portion.sample.lot.state == "open"
    Lot.objects.update(state=state)
    with pytest.raises(Refused, match=f"is {state}: its runs stay"):
        perform(KeySecond(run, "0.72"), shift.by(shift.bench.manager))
    assert Lot.objects.get().state == state
    assert not Deviation.objects.exists()


def test_the_mask_holds_and_void_runs_are_not_keyed(shift: Shift) -> None:
    run = shift.run(shift.portion()).run
    with pytest.raises(InputError, match="percent") as caught:
        perform(KeySecond(run, "63.2"), shift.by(shift.bench.officer))
    assert caught.value.field == "a_w"
    perform(VoidRun(run, "Condensation"), shift.by(shift.bench.manager))
    with pytest.raises(Refused, match="is void"):
        perform(KeySecond(run, "0.632"), shift.by(shift.bench.officer))
