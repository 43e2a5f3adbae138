"""Entries come in once, in their order, by token; nothing is lost and nothing doubled."""

from __future__ import annotations

import json
from datetime import timedelta
from pathlib import Path

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from tests.outlets.site import make
from tests.outlets.site.bench.shift import NOW, Shift
from tests.outlets.site.captures.bench_agent import INTAKE, SETTLES, BenchAgent, approach, make_agent, make_captures

from isohume.outlets.site.captures import intake
from isohume.outlets.site.captures.actions.revoke_agent import RevokeAgent
from isohume.outlets.site.captures.kept import samples_of
from isohume.outlets.site.captures.models import Agent, CapturedRun, Chunk, InstrumentState, Spool
from isohume.outlets.site.ledger.actions import perform
from isohume.outlets.site.ledger.trail import trail_of
from isohume.outlets.site.register.models import Instrument


@pytest.fixture
def both(site_db: Path) -> tuple[Shift, BenchAgent]:
    return make_captures()


def kept(run: CapturedRun) -> list[tuple[str, str]]:
    return [(str(one.elapsed_s), str(one.a_w)) for one in samples_of(run)]


def test_a_run_comes_in_whole_and_is_kept_as_evidence(both: tuple[Shift, BenchAgent]) -> None:
    _, agent = both
    trace = approach(0.650, 0.400)
    run = agent.brings("r1", trace, number="0042", sample_temperature_c="24.90")
    assert kept(run) == trace
    assert str(samples_of(run)[0].sample_temperature_c) == "24.90"
    assert (run.number, run.readings, run.end_reason, run.fate) == ("0042", len(trace), "end line", "waiting")
    assert len(run.trace_sha256) == 64
    assert not Chunk.objects.exists()
    line = trail_of(run.ref)[-1]
    assert (line.said, line.by) == ("Captured a run", "bench agent Bench 1")
    assert line.details["trace"] == run.trace_sha256


def test_it_grows_in_pieces_and_every_piece_is_read_while_it_does(both: tuple[Shift, BenchAgent]) -> None:
    _, agent = both
    trace = approach(0.650, 0.400, until=60)
    entries = agent.run("r1", trace)
    for first in range(0, len(entries) - 1, 3):
        assert agent.post(entries[first : min(first + 3, len(entries) - 1)]).status_code == 200
        run = CapturedRun.objects.get()
        assert kept(run) == trace[: run.readings]
    assert (run.ended_at, run.trace_sha256) == (None, "")
    agent.post(entries[-1:])
    assert kept(CapturedRun.objects.get()) == trace


def test_what_comes_twice_is_taken_once(both: tuple[Shift, BenchAgent]) -> None:
    _, agent = both
    entries = agent.run("r1", approach(0.650, 0.400, until=60))
    first, again = agent.post(entries[:8]), agent.post(entries[:8])
    assert first.json() == again.json() == {"spool": agent.spool, "last": 8}
    answer = agent.post(entries[4:])  # half of it new
    assert answer.json()["last"] == len(entries)
    assert CapturedRun.objects.get().readings == len(entries) - 2
    assert agent.post(entries).json()["last"] == len(entries)
    assert CapturedRun.objects.count() == 1
    assert len(trail_of(CapturedRun.objects.get().ref)) == 1


def test_a_gap_is_answered_with_the_last_one_known(both: tuple[Shift, BenchAgent]) -> None:
    _, agent = both
    entries = agent.run("r1", approach(0.650, 0.400, until=60))
    agent.post(entries[:3])
    answer = agent.post(entries[5:])
    assert (answer.status_code, answer.json()["last"]) == (409, 3)
    assert CapturedRun.objects.get().readings == 2
    found = agent.client.get(f"{INTAKE}/last?spool={agent.spool}", headers={"Authorization": f"Bearer {agent.token}"})
    assert found.json() == {"last": 3}


def test_all_of_a_request_or_nothing(both: tuple[Shift, BenchAgent]) -> None:
    _, agent = both
    entries = agent.run("r1", approach(0.650, 0.400, until=60))
    entries[-2]["instrument"] = "nobody's"
    answer = agent.post(entries)
    said = answer.json()
    assert (answer.status_code, said["field"], said["n"]) == (422, "instrument", entries[-2]["n"])
    assert "nobody's" in said["error"]
    assert not CapturedRun.objects.exists()
    assert Spool.objects.count() == 0


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("a_w", "65.2"), ("a_w", "0,652"), ("a_w", ""), ("a_w", "NaN"), ("a_w", 0.65), ("elapsed_s", "-1"),
        ("elapsed_s", None), ("sample_temperature_c", "hot"), ("at", "2026-09-16T09:00:00"), ("at", "yesterday"),
        ("kind", "stop"), ("run", ""), ("instrument", ""), ("state", "x" * 61), ("number", "\0"), ("n", "3"),
        ("n", True),
    ],
)  # fmt: skip
def test_what_cannot_be_read_names_field_value_and_what_is_allowed(
    both: tuple[Shift, BenchAgent], field: str, value: object
) -> None:
    _, agent = both
    entries = agent.run("r1", approach(0.650, 0.400, until=20))
    entries[2][field] = value
    answer = agent.client.post(
        INTAKE,
        json.dumps({"spool": agent.spool, "now": "2026-09-16T09:00:00Z", "waiting": 1, "entries": entries}),
        content_type="application/json",
        headers={"Authorization": f"Bearer {agent.token}", "Idempotency-Key": f"{agent.spool}:1-{len(entries)}"},
    )
    assert answer.status_code == 422, answer.content
    assert answer.json()["field"] == field
    assert answer.json()["allowed"]


def test_requests_that_are_no_entries(both: tuple[Shift, BenchAgent]) -> None:
    _, agent = both
    headers = {"Authorization": f"Bearer {agent.token}"}
    for body in ("", "[]", "{", '{"entries": 3}', '{"spool": "x", "entries": []}', "[" * 100_000):
        answer = Client().post(INTAKE, body, content_type="application/json", headers=headers)
        assert answer.status_code == 422, body[:20]
    large = Client().post(INTAKE, " " * 4_000_001, content_type="application/json", headers=headers)
    assert (large.status_code, large.json()["allowed"][:22]) == (413, "at most 4000000 bytes:")
    entries = agent.run("r1", approach(0.650, 0.400, until=20))
    del entries[3]
    assert agent.post(entries).json()["field"] == "n"
    many = [agent.entry("state", state="warm") for _ in range(2001)]
    assert agent.post(many).json()["field"] == "entries"
    wrong = {**headers, "Idempotency-Key": "another"}
    body = {"spool": agent.spool, "now": "2026-09-16T09:00:00Z", "waiting": 0, "entries": many[:1]}
    assert (
        Client().post(INTAKE, json.dumps(body), "application/json", headers=wrong).json()["field"] == "Idempotency-Key"
    )


def test_only_a_token_that_is_registered_and_not_revoked(both: tuple[Shift, BenchAgent]) -> None:
    shift, agent = both
    entries = agent.run("r1", approach(0.650, 0.400, until=20))
    for wrong in ("", "Bearer ", "Bearer x", f"Basic {agent.token}", f"Bearer {agent.token}x", f"Bearer {'é' * 20}"):
        answer = Client().post(INTAKE, "{}", content_type="application/json", headers={"Authorization": wrong})
        assert (answer.status_code, answer["WWW-Authenticate"]) == (401, "Bearer"), wrong
    assert Client().post(INTAKE, "{}", content_type="application/json").status_code == 401
    assert agent.token not in json.dumps(list(Agent.objects.values()), default=str)
    perform(RevokeAgent(agent.agent, "Computer replaced"), shift.by(shift.bench.manager, 5))
    assert agent.post(entries).status_code == 401
    after = make_agent(shift, "Bench 1 new")  # the same spool goes on
    after.next = agent.next
    assert after.post(entries).status_code == 200
    assert CapturedRun.objects.get().agent == after.agent


def test_revoked_while_on_its_way(both: tuple[Shift, BenchAgent], monkeypatch: pytest.MonkeyPatch) -> None:
    _, agent = both
    before = intake._seen

    def revoked_now(known: Agent, *given: object) -> None:
        Agent.objects.filter(pk=known.pk).update(revoked_at=NOW)
        before(known, *given)  # type: ignore[arg-type]

    monkeypatch.setattr(intake, "_seen", revoked_now)
    assert agent.post(agent.run("r1", [("0.0", "0.5")])).status_code == 401
    assert not CapturedRun.objects.exists()


def test_a_spool_of_an_agent_at_work_is_nobody_else_s(both: tuple[Shift, BenchAgent]) -> None:
    shift, agent = both
    agent.brings("r1", approach(0.650, 0.400, until=20))
    other = make_agent(shift, "Bench 2")
    other.next = agent.next
    assert other.post(other.run("r2", [("0.0", "0.5")])).status_code == 401


def test_an_instrument_is_known_by_name_or_serial_of_the_own_plant(both: tuple[Shift, BenchAgent]) -> None:
    shift, agent = both
    one = shift.bench.instrument
    elsewhere = make.make_instrument(make.make_site("elsewhere"), "EL-1")
    assert agent.brings("r1", [("0.0", "0.5")], instrument=one.serial).instrument == one
    answer = agent.post(agent.run("r2", [("0.0", "0.5")], instrument=elsewhere.name))
    assert (answer.status_code, answer.json()["field"]) == (422, "instrument")


def test_readings_alike_are_counted_and_kept_once(both: tuple[Shift, BenchAgent]) -> None:
    _, agent = both
    trace = [("0.0", "0.5000"), ("1.0", "0.5100"), ("1.0", "0.5100"), ("2.0", "0.5100")]
    run = agent.brings("r1", trace)
    assert (run.readings, run.repeats) == (3, 1)
    assert kept(run) == [trace[0], trace[1], trace[3]]


def test_a_clock_that_goes_back_loses_no_reading(both: tuple[Shift, BenchAgent]) -> None:
    _, agent = both
    trace = [("5.0", "0.5000"), ("6.0", "0.5100"), ("1.0", "0.5200"), ("7.0", "0.5300")]
    assert kept(agent.brings("r1", trace)) == trace


def test_readings_after_the_end_are_kept_with_their_run(both: tuple[Shift, BenchAgent]) -> None:
    _, agent = both
    run = agent.brings("r1", [("0.0", "0.5000"), ("1.0", "0.5100")])
    first = run.trace_sha256
    late = agent.entry("reading", run="r1", at=NOW + timedelta(seconds=2), elapsed_s="2.0", a_w="0.5200")
    assert agent.post([late]).status_code == 200
    run.refresh_from_db()
    assert kept(run) == [("0.0", "0.5000"), ("1.0", "0.5100"), ("2.0", "0.5200")]
    assert run.trace_sha256 != first
    assert [line.details["trace"] for line in trail_of(run.ref)] == [first, run.trace_sha256]


def test_what_an_instrument_says_of_itself(both: tuple[Shift, BenchAgent]) -> None:
    shift, agent = both
    agent.post([agent.entry("state", run="", state="warming up", block_temperature_c="24.1")])
    agent.post([agent.entry("state", run="", state="ready", block_temperature_c="25.0")], waiting=7)
    said = InstrumentState.objects.get()
    assert (said.instrument, said.state, said.block_temperature_c) == (shift.bench.instrument, "ready", "25.0")
    assert Agent.objects.get().backlog == 7


def test_a_line_that_no_rule_reads_stands_in_the_ledger_once_in_a_while(both: tuple[Shift, BenchAgent]) -> None:
    shift, agent = both
    many = [agent.entry("unread", run="", line=f"?? {n}", reason="no rule reads it") for n in range(40)]
    assert agent.post(many).status_code == 200
    lines = [line for line in trail_of(shift.bench.instrument.ref) if line.kind == "line_unread"]
    assert [line.details["line"] for line in lines] == ["?? 0"]


def test_moments_are_told_by_the_server_s_clock(both: tuple[Shift, BenchAgent]) -> None:
    """F32: a clock that is an hour wrong must not put a check after its sample."""
    _, agent = both
    sent = NOW - timedelta(hours=1)
    entries = agent.run("r1", [("0.0", "0.5000"), ("60.0", "0.5100")], sent - timedelta(seconds=90))
    agent.post(entries, now=sent, server=NOW)
    run, found = CapturedRun.objects.get(), Agent.objects.get()
    assert found.clock_offset_s == -3600
    assert run.started_at == NOW - timedelta(seconds=90)
    assert run.ended_at == NOW - timedelta(seconds=30)


def test_a_moment_after_the_agent_s_own_now_is_the_moment_of_its_coming(both: tuple[Shift, BenchAgent]) -> None:
    _, agent = both
    agent.post(agent.run("r1", [("0.0", "0.5000")], NOW + timedelta(days=2)), now=NOW)
    run = CapturedRun.objects.get()
    assert (run.started_at, run.ended_at) == (NOW, NOW)


def test_few_questions_however_many_entries(both: tuple[Shift, BenchAgent]) -> None:
    _, agent = both
    entries = agent.run("r1", approach(0.650, 0.400, until=600, step=1), ends=False)
    counts = []
    for part in (entries[:5], entries[5:10], entries[10:]):
        with CaptureQueriesContext(connection) as asked:
            assert agent.post(part).status_code == 200
        counts.append(len(asked))
    assert counts[1] == counts[2]
    assert counts[1] <= 14, asked.captured_queries


def test_an_instrument_s_name_goes_before_another_s_serial(both: tuple[Shift, BenchAgent]) -> None:
    shift, agent = both
    odd = make.make_instrument(shift.bench.instrument.site, "OW-9", serial="OW-1")
    assert odd.serial == "OW-1"
    assert agent.brings("r1", [("0.0", "0.5")], instrument="OW-1").instrument == Instrument.objects.get(name="OW-1")


def test_a_run_that_is_numbered_when_it_is_over(both: tuple[Shift, BenchAgent]) -> None:
    _, agent = both
    rows = agent.run("r1", SETTLES[:8])
    rows[-1]["number"] = "0042"
    assert agent.post(rows).status_code == 200
    assert CapturedRun.objects.get().number == "0042"
