"""What an instrument gave by itself is not typed or imported a second time, whatever became of it."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path

import pytest
from django.test import Client
from django.urls import reverse
from tests.outlets.site.bench.shift import NOW, Shift, words
from tests.outlets.site.captures.bench_agent import (
    MOVES,
    SETTLES,
    WARM,
    BenchAgent,
    accepts,
    does,
    expects,
    make_captures,
)

from isohume.outlets.site.bench.actions.import_runs import ImportRuns, RowsRefused, preview
from isohume.outlets.site.bench.actions.record_run import RecordRun
from isohume.outlets.site.bench.actions.void_run import VoidRun
from isohume.outlets.site.bench.models import Portion, Run, SecondKeying
from isohume.outlets.site.captures.actions.assign_run import AssignRun
from isohume.outlets.site.captures.actions.void_captured import VoidCaptured
from isohume.outlets.site.captures.after_acceptance import said_after
from isohume.outlets.site.captures.judged import judged_of
from isohume.outlets.site.captures.models import CapturedRun
from isohume.outlets.site.ledger.actions import Refused
from isohume.outlets.site.ledger.trail import trail_of
from isohume.outlets.site.lots.actions.judge_lot import JudgeLot
from isohume.outlets.site.register.models import SpecificationVersion

CLIMBS = [(f"{t}.0", f"{0.52 + 0.0001 * t:.4f}") for t in range(0, 900, 5)]
"""A volatile: it climbs and does not slow down."""


@pytest.fixture
def both(site_db: Path) -> tuple[Shift, BenchAgent]:
    return make_captures()


def minutes(n: float) -> timedelta:
    return timedelta(minutes=n)


def types(shift: Shift, portion: Portion, a_w: str, read: float, at: float, **more: str) -> Run:
    """Type a reading of so many minutes after NOW."""
    given = {"sample_temperature_c": "25.0", "block_temperature_c": "25.0", "read_at": NOW + minutes(read), **more}
    return does(shift, RecordRun(portion, shift.bench.instrument, a_w, **given), at).run  # type: ignore


@pytest.mark.parametrize("kind", ["quality", "safety"])
def test_the_last_number_of_a_moving_trace_is_not_typed_beside_it(both: tuple[Shift, BenchAgent], kind: str) -> None:
    """MOVES stops with 0.06 still to go: accepted, it is an estimate that holds its lot; its number alone would not."""
    shift, agent = both
    SpecificationVersion.objects.update(kind=kind)
    portion = shift.sample(portions=1).portions.get()
    expects(shift, portion)
    captured = agent.brings("r1", MOVES, **WARM)
    for read in (-5, 1, 4.5, 15):
        with pytest.raises(Refused, match=r"This read is captured run \d+ of cup .*accept it or void it"):
            types(shift, portion, captured.last_a_w, read, 20)
    recorded = accepts(shift, captured).run
    with pytest.raises(Refused, match=f"it is run {recorded.pk}"):
        types(shift, portion, captured.last_a_w, 1, 25)
    record = does(shift, JudgeLot(portion.sample.lot), 30)
    assert (record.disposition, record.estimate) == ("hold", "non-equilibrium estimate")  # type: ignore


def test_a_void_run_takes_its_number_with_it(both: tuple[Shift, BenchAgent]) -> None:
    shift, agent = both
    portion = shift.portion()
    expects(shift, portion)
    captured = agent.brings("r1", CLIMBS, NOW + minutes(1), **WARM)
    does(shift, VoidCaptured(captured, "volatile", "As the page says"), 20, manager=True)
    with pytest.raises(Refused, match="it is void, and so is its number"):
        types(shift, portion, captured.last_a_w, 16, 25)
    assert not Run.objects.exists()


def test_while_the_agent_is_heard_the_time_until_the_next_run_is_accounted_for(both: tuple[Shift, BenchAgent]) -> None:
    """A re-read would have a captured run of its own; once nobody hears the agent, it may have been missed."""
    shift, agent = both
    portion, other = shift.portion(), shift.portion(shift.sample(shift.lot("SB-0916-04")))
    expects(shift, portion)
    captured = agent.brings("r1", SETTLES, **WARM)
    does(shift, VoidCaptured(captured, "leak"), 12, manager=True)
    with pytest.raises(Refused, match="A re-read gives a captured run of its own"):
        types(shift, portion, "0.640", 67, 68)
    typed = types(shift, portion, "0.640", 69, 70)  # last heard at minute 8
    assert typed.a_w == "0.640"
    agent.post([agent.entry("state", run="", at=NOW + minutes(90), state="ready")])
    with pytest.raises(Refused, match="A re-read gives a captured run of its own"):
        types(shift, portion, "0.641", 89, 91)
    expects(shift, other, 99)
    agent.brings("r2", SETTLES, NOW + minutes(100), **WARM)
    assert types(shift, portion, "0.642", 112, 113).a_w == "0.642"


def test_an_orphan_is_named_first(both: tuple[Shift, BenchAgent]) -> None:
    shift, agent = both
    portion = shift.portion()
    orphan = agent.brings("r1", MOVES, number="0042", **WARM)
    with pytest.raises(Refused, match="Nobody has said whose number 0042 is") as refused:
        types(shift, portion, "0.571", 5, 10)
    assert refused.value.reasons[0].href == orphan.get_absolute_url()  # type: ignore[attr-defined]
    does(shift, VoidCaptured(orphan, "whose-unknown", "Nobody was at the bench"), 20, manager=True)
    with pytest.raises(Refused, match="gave number 0042, which is void"):
        types(shift, portion, "0.571", 3, 21)
    assert types(shift, portion, "0.632", 19, 22).a_w == "0.632"


def test_a_run_of_which_nobody_knows_when_it_was_may_have_been_then(both: tuple[Shift, BenchAgent]) -> None:
    shift, agent = both
    portion, other = shift.portion(), shift.portion(shift.sample(shift.lot("SB-0916-04")))
    captured = agent.brings("r1", MOVES, NOW - timedelta(hours=2), **WARM)
    assert types(shift, other, "0.632", 3, 4).a_w == "0.632"
    CapturedRun.objects.update(time_doubt="by another boot's clock", portion=portion)
    with pytest.raises(Refused, match="This read is captured run"):
        types(shift, portion, captured.last_a_w, 3, 5)
    assert types(shift, other, "0.633", 5, 6).a_w == "0.633"


def test_a_run_that_goes_on_and_one_without_a_reading(both: tuple[Shift, BenchAgent]) -> None:
    shift, agent = both
    portion = shift.portion()
    expects(shift, portion)
    agent.post(agent.run("r1", SETTLES[:30], ends=False, **WARM))
    with pytest.raises(Refused, match="This read is captured run"):
        types(shift, portion, "0.571", 2, 2)
    other = shift.portion(shift.sample(shift.lot("SB-0916-04")))
    empty = agent.brings("r2", [], NOW + minutes(3))
    CapturedRun.objects.filter(pk=empty.pk).update(portion=other)
    assert types(shift, other, "0.632", 4, 5).a_w == "0.632"


def test_an_imported_row_is_named(both: tuple[Shift, BenchAgent]) -> None:
    """By its time, or by the instrument's own number where the file's clock is off."""
    shift, agent = both
    portion = shift.portion()
    expects(shift, portion)
    agent.brings("r1", MOVES, number="0042", **WARM)
    row = "lot,portion,a_w,read_at,instrument,run\nSB-0916-03,A,0.571,2026-09-16T{},OW-1,{}\n"
    for at, number in (("10:03", ""), ("08:40", "0042")):
        action = ImportRuns(shift.bench.manager.site, "ow1.csv", row.format(at, number).encode())
        (tried,) = preview(action, shift.by(minutes=30))
        assert "This read is number 0042 of cup A" in tried.refused
        with pytest.raises(RowsRefused, match="Row 2: This read is number 0042"):
            does(shift, action, 30)
    assert not Run.objects.exists()


def test_the_page_leads_to_the_captured_run(both: tuple[Shift, BenchAgent]) -> None:
    shift, agent = both
    portion = shift.portion()
    expects(shift, portion)
    captured = agent.brings("r1", MOVES, number="0042", **WARM)
    client = Client()
    client.force_login(shift.analyst)
    given = {"instrument": str(shift.bench.instrument.pk), "a_w": "0.571", "read_at": "2026-09-16T10:03"}
    answer = client.post(reverse("shift_row", args=[portion.pk]), given, headers={"HX-Request": "true"})
    assert "This read is number 0042" in words(answer)
    assert f'<a href="{captured.get_absolute_url()}">Number 0042</a>' in answer.content.decode()


def test_a_number_typed_before_its_run_came_in_gives_way_to_the_trace(both: tuple[Shift, BenchAgent]) -> None:
    """The line was slow: the number was typed, then the run came in. One read is one row, and it is the trace's."""
    shift, agent = both
    portion = shift.sample(portions=1).portions.get()
    expects(shift, portion)
    typed = types(shift, portion, MOVES[-1][1], 4, 5, instrument_number="0042")  # at the trace's own last second
    SecondKeying.objects.create(run=typed, a_w=typed.a_w, agrees=True, words="agrees", at=NOW, by=shift.bench.manager)
    captured = agent.brings("r1", MOVES, number="0042", **WARM)
    recorded = accepts(shift, captured).run
    typed.refresh_from_db()
    assert typed.void_reason == "This read is number 0042, whose trace is on record: one read is one row."
    assert (typed.a_w, typed.voided_by) == (MOVES[-1][1], shift.analyst)
    assert recorded.stopped == "non-equilibrium estimate"
    assert trail_of(typed.ref)[-1].details["typed_of_this_read"] == f"run {typed.pk}, void now"
    record = does(shift, JudgeLot(portion.sample.lot), 30)
    assert (record.disposition, record.estimate) == ("hold", "non-equilibrium estimate")  # type: ignore


def test_a_void_run_takes_the_number_that_was_typed_before_it_came_in(both: tuple[Shift, BenchAgent]) -> None:
    shift, agent = both
    portion = shift.portion()
    expects(shift, portion)
    typed = types(shift, portion, CLIMBS[-1][1], 15, 15)
    captured = agent.brings("r1", CLIMBS, NOW, **WARM)
    does(shift, VoidCaptured(captured, "volatile"), 20, manager=True)
    typed.refresh_from_db()
    portion.refresh_from_db()
    assert typed.void_reason == "This read is captured run 1, which is void: a volatile acted on the sensor."
    assert not portion.done


def test_a_decided_lot_keeps_its_runs(both: tuple[Shift, BenchAgent]) -> None:
    shift, agent = both
    portion = shift.portion()
    expects(shift, portion)
    typed = types(shift, portion, "0.632", 5, 5)
    portion.sample.lot.state = "released"
    portion.sample.lot.save()
    captured = agent.brings("r1", SETTLES, **WARM)
    accepts(shift, captured, reason="It came in late")
    typed.refresh_from_db()
    assert not typed.void_reason
    assert trail_of(typed.ref)[-1].details["typed_of_this_read"] == f"run {typed.pk}, as the lot was decided on"


def test_nobody_who_ever_said_what_it_is_voids_it(both: tuple[Shift, BenchAgent]) -> None:
    """Whoever put the cup in has seen its number grow, whatever another person said since."""
    shift, agent = both
    first, other = shift.portion(), shift.portion(shift.sample(shift.lot("SB-0916-04")))
    expects(shift, first)
    captured = agent.brings("r1", SETTLES, **WARM)
    does(shift, AssignRun(captured, other, reason="The cup stood in the chamber"), 12, manager=True)
    with pytest.raises(Refused, match="Analyst said what it is, and its number is known"):
        does(shift, VoidCaptured(captured, "leak"), 13)
    orphan = agent.brings("r2", SETTLES, NOW + minutes(20), **WARM)
    does(shift, AssignRun(orphan, other, reason="The cup stood in the chamber"), 31)
    does(shift, AssignRun(orphan, first, reason="The label says so"), 32, manager=True)
    for manager in (False, True):
        with pytest.raises(Refused, match="said what it is, and its number is known"):
            does(shift, VoidCaptured(orphan, "leak"), 33, manager=manager)


def test_nor_the_run_that_it_became(both: tuple[Shift, BenchAgent]) -> None:
    shift, agent = both
    expects(shift, shift.portion())
    captured = agent.brings("r1", SETTLES, **WARM)
    run = accepts(shift, captured, manager=True).run
    for manager, who in ((False, "Analyst said what"), (True, "Manager recorded run")):
        with pytest.raises(Refused, match=f"{who}.*a second person voids it"):
            does(shift, VoidRun(run, "Rim was smeared"), 30, manager=manager)


def test_readings_that_come_after_a_run_was_accepted_are_told(both: tuple[Shift, BenchAgent]) -> None:
    """The line was slow: what came later says that the cup climbed on. The accepted run stays, and both are shown."""
    shift, agent = both
    expects(shift, shift.portion())
    captured = agent.brings("r1", SETTLES, **WARM)
    run = accepts(shift, captured).run
    assert said_after(captured, judged_of(captured)) == ""
    later = [(f"{500 + 5 * n}.0", f"{0.6321 + 0.0015 * n:.4f}") for n in range(80)]
    rows = [
        agent.entry("reading", run="r1", at=NOW + timedelta(seconds=float(t)), elapsed_s=t, a_w=a_w, **WARM)
        for t, a_w in later
    ]
    assert agent.post(rows, now=NOW + minutes(60)).status_code == 200
    captured = CapturedRun.objects.get()
    said = said_after(captured, judged_of(captured))
    assert said.startswith(f"Readings came after it was accepted: run {run.pk} stays as it was made, with {run.a_w}")
    assert (captured.run, Run.objects.get().a_w) == (run, run.a_w)
    client = Client()
    client.force_login(shift.analyst)
    assert "readings came since" in words(client.get(captured.get_absolute_url()))
    assert said in words(client.get(captured.get_absolute_url()))
    assert "Readings of this run came after it was accepted" in words(client.get(run.get_absolute_url()))
    accounts = f"{reverse('accounting')}?from=2026-09-16&to=2026-09-16"
    assert "Readings came after it was accepted" in words(client.get(accounts))


def test_an_orphan_of_a_lot_that_is_decided_says_so(both: tuple[Shift, BenchAgent]) -> None:
    shift, agent = both
    portion = shift.portion()
    portion.sample.lot.state = "released"
    portion.sample.lot.save()
    captured = agent.brings("r1", SETTLES, **WARM)
    does(shift, AssignRun(captured, portion, reason="The cup stood in the chamber"), 12)
    assert trail_of(captured.ref)[-1].details["lot"] == "SB-0916-03, which is released already"
    client = Client()
    client.force_login(shift.analyst)
    assert "whose lot SB-0916-03 is released already" in words(client.get(captured.get_absolute_url()))
