"""The agent as a whole: a port, a cable that is pulled, a socket, a clock that is set, a disk that is full."""

from __future__ import annotations

import itertools
import json
import os
import socket
import sys
import threading
import time
import tomllib
import tty
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest
from tests.outlets.capture.conftest import Hands

from isohume.outlets.capture import agent as module
from isohume.outlets.capture.agent import Agent
from isohume.outlets.capture.clock import Clock
from isohume.outlets.capture.instrument.cup import Cup
from isohume.outlets.capture.instrument.machine import Machine
from isohume.outlets.capture.instrument.program import Port, demo_rule, run_instrument
from isohume.outlets.capture.rule import Rule
from isohume.outlets.capture.rule_file import rule_of
from isohume.outlets.capture.run_reader import RunReader
from isohume.outlets.capture.sources import serial_line
from isohume.outlets.capture.sources.heard import CONNECTED, LINES, Heard
from isohume.outlets.capture.spool import Outgoing, Spool
from isohume.outlets.capture.status import read_status

POSIX = pytest.mark.skipif(os.name != "posix", reason="the invented instrument needs a pseudo-terminal")


@contextmanager
def at_work(rule: Rule, folder: Path) -> Iterator[list[str]]:
    said: list[str] = []
    spool = Spool(folder)
    agent = Agent(rule, spool, Clock(), said.append)
    thread = threading.Thread(target=agent.run)
    thread.start()
    try:
        yield said
    finally:
        agent.inbox.stop.set()
        thread.join()
        spool.close()


@contextmanager
def instrument(machine: Machine, link: Path, pace: float = 100.0) -> Iterator[None]:
    """The invented instrument at a port, until its cable is pulled."""
    port, stop = Port(link), threading.Event()
    words = {"look_s": 0.005, "hands": False}
    thread = threading.Thread(target=run_instrument, args=(machine, port, pace, stop.is_set), kwargs=words)
    thread.start()
    try:
        yield
    finally:
        stop.set()
        thread.join()
        port.close()


def until(true: Callable[[], bool], seconds: float = 30.0) -> None:
    end = time.monotonic() + seconds
    while not true():
        assert time.monotonic() < end, "it did not come about"
        time.sleep(0.02)


def entries(folder: Path) -> list[dict[str, Any]]:
    out = Outgoing(folder)
    rows = out.after(0, 10**6, 10**9)
    out.close()
    assert [n for n, _ in rows] == list(range(1, len(rows) + 1))
    return [json.loads(body) for _, body in rows]


def runs(folder: Path) -> list[tuple[str, list[tuple[str, str]], str]]:
    """(number, readings, end) of a spool."""
    found: dict[str, tuple[str, list[tuple[str, str]], list[str]]] = {}
    for one in entries(folder):
        if one["kind"] == "start":
            found[one["run"]] = (one.get("number", ""), [], [])
        elif one["kind"] == "reading":
            found[one["run"]][1].append((one["elapsed_s"], one["a_w"]))
        elif one["kind"] == "end":
            found[one["run"]][2].append(one["reason"])
    return [(number, readings, "; ".join(ends)) for number, readings, ends in found.values()]


def given(machine: Machine) -> list[tuple[str, list[tuple[str, str]], str]]:
    return [(h.number, [(r.elapsed_s, r.a_w) for r in h.readings], "end line") for h in machine.held]


CUPS = [Cup(0.7528, "plain", 60.0), Cup(0.632, "warm", 60.0), Cup(0.33, "slow", 60.0)]


def rule_at(port: Path | str, name: str = "OW-1") -> Rule:
    return rule_of(tomllib.loads(demo_rule(str(port), name)))


@POSIX
def test_a_day_at_a_port(tmp_path: Path) -> None:
    machine = Machine(CUPS, 3)
    with instrument(machine, tmp_path / "port"), at_work(rule_at(tmp_path / "port"), tmp_path / "spool"):
        until(lambda: len(runs(tmp_path / "spool")) == 3 and runs(tmp_path / "spool")[-1][2] != "")
    assert runs(tmp_path / "spool") == given(machine)
    assert not [one for one in entries(tmp_path / "spool") if one["kind"] == "unread"]


@POSIX
def test_the_cable_is_pulled_within_a_run_and_comes_back(tmp_path: Path) -> None:
    """The instrument goes on measuring meanwhile, and says again what it holds."""
    machine = Machine(CUPS, 4)
    with at_work(rule_at(tmp_path / "port"), tmp_path / "spool") as said:
        for pulled in range(3):
            with instrument(machine, tmp_path / "port"):
                until(lambda: sum(len(r[1]) for r in runs(tmp_path / "spool")) > 20 * (pulled + 1) - 10)  # noqa: B023
            machine.advance(machine._now + 10)
        machine_went_on = Machine([], 0)
        assert machine_went_on.is_done
        with instrument(machine, tmp_path / "port"):
            until(lambda: len(runs(tmp_path / "spool")) == 3 and runs(tmp_path / "spool")[-1][2] != "")
        status = read_status(tmp_path / "spool")
    assert runs(tmp_path / "spool") == given(machine)
    assert status.instruments[0].said_before > 0
    assert any("trying again" in line for line in said)


@POSIX
def test_an_agent_started_again_within_a_run_doubles_nothing(tmp_path: Path) -> None:
    machine = Machine(CUPS, 5)
    with instrument(machine, tmp_path / "port"):
        for part in (10, 40, 70):
            with at_work(rule_at(tmp_path / "port"), tmp_path / "spool"):
                until(lambda: sum(len(r[1]) for r in runs(tmp_path / "spool")) >= part)  # noqa: B023
        with at_work(rule_at(tmp_path / "port"), tmp_path / "spool"):
            until(lambda: len(runs(tmp_path / "spool")) == 3 and runs(tmp_path / "spool")[-1][2] != "")
    assert runs(tmp_path / "spool") == given(machine)


@POSIX
def test_an_instrument_that_does_not_answer_is_heard_all_the_same(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Asked again, and then its lines are taken as they come: better than nothing."""
    monkeypatch.setattr(serial_line, "ANSWER_S", 0.1)
    own, theirs = os.openpty()
    tty.setraw(theirs)
    stop = threading.Event()

    def speak() -> None:
        for line in itertools.cycle(day()):
            if stop.wait(0.05):
                return
            os.write(own, f"{line}\n".encode())

    speaking = threading.Thread(target=speak)
    speaking.start()
    with at_work(rule_at(os.ttyname(theirs)), tmp_path / "spool"):
        until(lambda: any(one["kind"] == "reading" for one in entries(tmp_path / "spool")))
        asked = os.read(own, 4096)
        stop.set()
        speaking.join()
    os.close(own)
    os.close(theirs)
    assert asked == b"tell from 0\n" * 3


SOCKET_RULE = r"""
[instrument]
name = "OW-2"
[source]
kind = "serial"
port = "socket://127.0.0.1:PORT"
[line]
decimal = ","
percent = true
patterns = ['^(?P<number>\d+); (?P<elapsed_s>\d+); (?P<a_w>[\d,]+)$']
"""


def test_a_socket_that_speaks_at_once_is_cut_off_and_comes_back(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Whole lines are read also right before a disconnection; halves at either end are kept and never read."""
    monkeypatch.setattr(serial_line, "MIDST_S", 0.5)  # the other end is this busy test
    server = socket.create_server(("127.0.0.1", 0))
    server.settimeout(20)
    rule = rule_of(tomllib.loads(SOCKET_RULE.replace("PORT", str(server.getsockname()[1]))))
    with at_work(rule, tmp_path / "spool"):
        for said in (b"2; 0; 9,12\r\n1; 0; 65,20\r\n1; 5; 65,30\r\n1; 10; 65,4", b"0\r\n1; 15; 65,50\r\n"):
            connection, _ = server.accept()
            connection.sendall(said)
            time.sleep(0.3)
            connection.close()
        server.close()
        until(lambda: len(entries(tmp_path / "spool")) >= 7)
    assert runs(tmp_path / "spool") == [("1", [("0", "0.6520"), ("5", "0.6530"), ("15", "0.6550")], "")]
    unread = [(one["line"], one["reason"]) for one in entries(tmp_path / "spool") if one["kind"] == "unread"]
    midst, cut = "the line may have begun before the connection was made", "the line was cut off"
    assert [line for line, _ in unread] == ["2; 0; 9,12", "1; 10; 65,4", "0"]
    for (_, reason), start in zip(unread, (midst, cut, midst), strict=True):
        assert reason.startswith(start)


@pytest.fixture
def still(tmp_path: Path, clock: Hands) -> Iterator[tuple[Agent, list[str]]]:
    """An agent without sources, turned by the test."""
    said: list[str] = []
    spool = Spool(tmp_path / "spool")
    yield Agent(rule_at("/dev/null"), spool, clock, said.append), said  # type: ignore[arg-type]
    spool.close()


def hear(agent: Agent, clock: Hands, *lines: str) -> None:
    agent.inbox.put(Heard("OW-1", LINES, clock.now(), tuple(line.encode() for line in lines)))


def day(seed: int = 6) -> list[str]:
    return Machine([Cup(0.65, "plain", 20.0)], seed).advance(60)


def test_silence_counts_only_while_somebody_listens(
    still: tuple[Agent, list[str]], clock: Hands, tmp_path: Path
) -> None:
    """A computer that slept has heard nothing: that ends no run. Two minutes awake do."""
    agent, _ = still
    agent.inbox.put(Heard("OW-1", CONNECTED, clock.now()))
    hear(agent, clock, *day()[:6])
    agent.turn(wait_s=0)
    clock.pass_(3600)
    agent.turn(wait_s=0)
    assert runs(tmp_path / "spool")[0][2] == ""
    for _ in range(24):
        clock.pass_(5)
        agent.turn(wait_s=0)
    assert runs(tmp_path / "spool")[0][2] == "silence"


def test_a_run_of_an_instrument_that_left_the_rule_is_ended(
    still: tuple[Agent, list[str]], clock: Hands, tmp_path: Path
) -> None:
    agent, _ = still
    hear(agent, clock, *day()[:6])
    agent.turn(wait_s=0)
    spool = Spool(tmp_path / "spool")
    for _ in range(2):
        Agent(rule_at("/dev/null", "OW-9"), spool, clock, print).turn(wait_s=0)  # type: ignore[arg-type]
    spool.close()
    assert [run[2] for run in runs(tmp_path / "spool")] == ["instrument lost"]


def test_a_fault_of_ours_loses_no_line(
    still: tuple[Agent, list[str]], clock: Hands, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    agent, _ = still
    monkeypatch.setattr(RunReader, "_taken", lambda *_: 1 / 0)
    hear(agent, clock, *day()[:6])
    agent.turn(wait_s=0)
    unread = [one for one in entries(tmp_path / "spool") if one["kind"] == "unread"]
    assert len(unread) == 4
    assert all(one["reason"].startswith("internal fault: ZeroDivisionError") for one in unread)


@pytest.mark.parametrize(("step", "word"), [(3600.0, "forward"), (-7200.0, "back")])
def test_a_clock_that_is_set_moves_no_trace_and_is_told(
    still: tuple[Agent, list[str]], clock: Hands, tmp_path: Path, step: float, word: str
) -> None:
    (agent, said), lines = still, day()
    agent.inbox.put(Heard("OW-1", CONNECTED, clock.now()))
    for i, line in enumerate(lines):
        if i == 6:
            clock.set_wall(step)
            agent.turn(wait_s=0)
        hear(agent, clock, line)
        agent.turn(wait_s=0)
        clock.pass_(2)
    told = [one for one in entries(tmp_path / "spool") if "clock was set" in one.get("reason", "")]
    assert len(told) == 1
    assert told[0]["reason"] == f"this computer's clock was set {word} by {abs(step):.0f} s" == said[0]
    assert len(runs(tmp_path / "spool")) == 1
    assert [float(elapsed) for elapsed, _ in runs(tmp_path / "spool")[0][1]] == [2.0 * i for i in range(11)]


def test_a_full_disk_is_told_and_nothing_is_lost(
    still: tuple[Agent, list[str]], clock: Hands, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The agent waits until there is room; SQLite's page limit stands for the disk."""
    (agent, said), lines = still, day()
    monkeypatch.setattr(module, "DISK_S", 0.05)
    db = agent._spool._db
    pages = db.execute("PRAGMA page_count").fetchone()[0]
    db.execute(f"PRAGMA max_page_count = {pages}")
    hear(agent, clock, *lines, *(f"noise {i} {'x' * 500}" for i in range(200)))
    turning = threading.Thread(target=agent.turn)
    turning.start()
    until(lambda: bool(said))
    assert said == ["disk: database or disk is full; nothing is lost, trying again"]
    time.sleep(0.3)
    assert turning.is_alive()
    db.execute(f"PRAGMA max_page_count = {pages + 1000}")
    turning.join(20)
    assert said[-1] == "disk: written again"
    assert len(runs(tmp_path / "spool")[0][1]) == 11
    assert sum(one["kind"] == "unread" for one in entries(tmp_path / "spool")) == 200


def test_standard_input_to_its_end(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    import io

    text = SOCKET_RULE.replace('kind = "serial"', 'kind = "stdin"').replace('port = "socket://127.0.0.1:PORT"', "")
    monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(b"1; 0; 65,20\n1; 5; 65,30")))
    spool = Spool(tmp_path / "spool")
    assert Agent(rule_of(tomllib.loads(text)), spool, Clock(), lambda line: None).run()
    spool.close()
    assert runs(tmp_path / "spool") == [("1", [("0", "0.6520"), ("5", "0.6530")], "instrument lost")]
