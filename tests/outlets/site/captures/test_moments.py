"""When a captured run was read, whatever was done to the bench computer's clock; and whose it is then."""

from __future__ import annotations

from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse
from tests.outlets.site.bench.shift import NOW, Shift
from tests.outlets.site.captures.bench_agent import SETTLES, BenchAgent, does, expects, make_captures

from isohume.outlets.site.captures.actions.expect_run import ExpectRun
from isohume.outlets.site.captures.models import CapturedRun, Expected, UnreadLine
from isohume.outlets.site.ledger.trail import trail_of

BACKEND = "django.contrib.auth.backends.ModelBackend"
HALF_HOUR = timedelta(minutes=30)


@pytest.fixture
def both(site_db: Path) -> tuple[Shift, BenchAgent]:
    return make_captures()


def told(agent: BenchAgent, at: datetime, slow: timedelta, boot: str = "b1", **start: str) -> list[Any]:
    """A run read at a moment, by a wall clock that is slow and a steady clock that counts from NOW."""
    rows = agent.run("r1", SETTLES, at - slow)
    for row in rows:
        true = datetime.fromisoformat(row["at"]) + slow
        row.update(steady=f"{(true - NOW).total_seconds() + 5000:.3f}", boot=boot)
    rows[0].update(start)
    return rows


def sent(agent: BenchAgent, rows: list[Any], at: datetime, boot: str = "b1") -> CapturedRun:
    """Sent when the computer's clock had been set right."""
    steady = f"{(at - NOW).total_seconds() + 5000:.3f}"
    answer = agent.post(rows, at, steady=steady, boot=boot)
    assert answer.status_code == 200, answer.content
    return CapturedRun.objects.get()


def test_a_clock_set_right_before_the_backlog_is_sent_gives_the_run_to_its_own_cup(
    both: tuple[Shift, BenchAgent],
) -> None:
    """The computer was half an hour slow while the cup was read; by its wall clock the cup before it was the one."""
    shift, agent = both
    first, second = portions(shift)
    expects(shift, first, -28)
    expects(shift, second, 1)
    run = sent(agent, told(agent, NOW + timedelta(minutes=5), HALF_HOUR), NOW + timedelta(hours=3))
    assert run.started_at == NOW + timedelta(minutes=5)
    assert run.portion == second
    assert run.time_doubt == ""


@pytest.mark.parametrize("step", [timedelta(days=1), timedelta(days=-1)])
def test_a_day_s_step_moves_no_run(both: tuple[Shift, BenchAgent], step: timedelta) -> None:
    _, agent = both
    run = sent(agent, told(agent, NOW, step), NOW + timedelta(hours=1))
    assert (run.started_at, run.ended_at) == (NOW, NOW + timedelta(seconds=480))


def test_after_another_start_of_the_computer_nothing_is_assigned_by_itself(both: tuple[Shift, BenchAgent]) -> None:
    shift, agent = both
    expects(shift, portions(shift)[0], -1)
    run = sent(agent, told(agent, NOW, timedelta()), NOW + timedelta(hours=1), boot="b2")
    assert run.started_at == NOW  # by the wall's clock, the best there is
    assert "was started again" in run.time_doubt
    assert run.of is None
    assert Expected.objects.get().taken is None
    assert trail_of(run.ref)[-1].details["time_not_certain"] == run.time_doubt
    page = Client()
    page.force_login(shift.bench.manager, BACKEND)
    assert "When it began is not certain" in page.get(run.get_absolute_url()).content.decode()


def test_a_run_dated_by_its_file_is_assigned_by_nobody_s_word(both: tuple[Shift, BenchAgent]) -> None:
    shift, agent = both
    expects(shift, portions(shift)[0], -1)
    words = "by the file's time: nobody listened when it was read"
    run = sent(agent, told(agent, NOW, timedelta(), dated=words), NOW + timedelta(hours=1))
    assert (run.time_doubt, run.of) == (words, None)


def test_a_lid_opened_and_closed_takes_no_cup_s_word(both: tuple[Shift, BenchAgent]) -> None:
    shift, agent = both
    cup = portions(shift)[0]
    expects(shift, cup, -1)
    empty = agent.brings("r1", [])
    real = agent.brings("r2", SETTLES, NOW + timedelta(minutes=1))
    assert empty.of is None
    assert real.portion == cup
    assert Expected.objects.get().taken == real


def test_a_word_taken_back_before_the_first_reading_is_nobody_s(both: tuple[Shift, BenchAgent]) -> None:
    """The lid was opened for one cup, and another was said to be next before anything was read."""
    shift, agent = both
    first, second = portions(shift)
    expects(shift, first, -1)
    entries = agent.run("r1", SETTLES[60:])  # the first reading five minutes after the start
    agent.post(entries[:1])
    expects(shift, second, 2)
    agent.post(entries[1:])
    assert CapturedRun.objects.get().of is None
    assert agent.brings("r2", SETTLES, NOW + timedelta(minutes=9)).portion == second


def test_the_same_word_said_twice_takes_nothing_back(both: tuple[Shift, BenchAgent]) -> None:
    """Two people say it: the second word comes after the run's start, and names the same cup."""
    shift, agent = both
    cup = portions(shift)[0]
    expects(shift, cup, -1)
    entries = agent.run("r1", SETTLES[60:])
    agent.post(entries[:1])
    again = does(shift, ExpectRun(shift.bench.instrument, cup), 2, manager=True)
    agent.post(entries[1:])
    assert CapturedRun.objects.get().portion == cup
    again.refresh_from_db()
    assert again.taken is not None  # the next run is not of this cup too


def test_lines_that_were_not_read_are_kept_and_counted(both: tuple[Shift, BenchAgent]) -> None:
    shift, agent = both
    lines = [agent.entry("unread", run="", line=f"noise {i}", reason="no pattern is in it") for i in range(50)]
    assert agent.post(lines).status_code == 200
    assert agent.post(lines).status_code == 200  # once
    assert list(UnreadLine.objects.order_by("n").values_list("line", flat=True)) == [f"noise {i}" for i in range(50)]
    page = Client()
    page.force_login(shift.bench.manager, BACKEND)
    day = {"from": NOW.date().isoformat(), "to": NOW.date().isoformat()}
    text = page.get(reverse("accounting"), day).content.decode()
    assert "OW-1: 50 lines were not read; the newest is &#39;noise 49&#39; (no pattern is in it)" in text


@pytest.mark.parametrize(
    ("field", "more"),
    [("steady", {"steady": "nan", "boot": "b"}), ("steady", {"boot": "b"}), ("boot", {"steady": "1.0", "boot": "b c"})],
)
def test_no_steady_clock(both: tuple[Shift, BenchAgent], field: str, more: dict[str, str]) -> None:
    _, agent = both
    answer = agent.post([agent.entry("start", **more)])
    assert (answer.status_code, answer.json()["field"], answer.json()["n"]) == (422, field, 1)


def portions(shift: Shift) -> list[Any]:
    """Two cups of one sample."""
    sample = shift.sample()
    return [shift.portion(sample), shift.portion(sample)]
