"""Lines to entries: starts, ends, repeats known again, clocks that are set, restarts."""

from __future__ import annotations

import json
from collections.abc import Iterable
from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.outlets.capture.conftest import Hands

from isohume.outlets.capture.entry import Entry
from isohume.outlets.capture.instrument.cup import Cup
from isohume.outlets.capture.instrument.machine import Machine
from isohume.outlets.capture.known import Remembered
from isohume.outlets.capture.line import read_line
from isohume.outlets.capture.pattern import read_pattern
from isohume.outlets.capture.rule import GROUPS, InstrumentRule, LineRule, RunRule, SerialSource, StandardInput
from isohume.outlets.capture.run_reader import RunReader


class Bench:
    """A reader with its memory, restarted at will."""

    def __init__(self, rule: InstrumentRule, clock: Hands) -> None:
        self.rule, self.clock, self.known = rule, clock, Remembered()
        self.reader = RunReader(rule, self.known, clock.now())
        self.reader.connected(clock.now())
        self.entries: list[Entry] = []

    def say(self, *lines: str, new_file: bool = False) -> list[Entry]:
        made = []
        for line in lines:
            made += self.reader.line(read_line(line, self.rule), self.clock.now(), new_file=new_file)
        self.entries += made
        return made

    def restart(self) -> None:
        """A new process: only what JSON keeps is remembered."""
        state: dict[str, Any] = json.loads(json.dumps(self.reader.state.kept()))
        self.reader = RunReader(self.rule, self.known, self.clock.now(), state)

    def quiet(self, seconds: float) -> list[Entry]:
        made = self.reader.quiet(self.clock.pass_(seconds))
        self.entries += made
        return made

    @property
    def runs(self) -> list[tuple[str, list[tuple[str, str]], str]]:
        """(number, readings, end) in the order of starts."""
        runs: dict[str, tuple[str, list[tuple[str, str]], list[str]]] = {}
        for one in self.entries:
            if one.kind == "start":
                runs[one.run] = (one.values.get("number", ""), [], [])
            elif one.kind == "reading":
                runs[one.run][1].append((one.values["elapsed_s"], one.values["a_w"]))
            elif one.kind == "end":
                runs[one.run][2].append(one.reason)
        return [(number, readings, "; ".join(ends)) for number, readings, ends in runs.values()]


def day(cups: int = 3, seed: int = 7) -> tuple[list[str], Machine]:
    machine = Machine([Cup(0.5 + 0.1 * i, "plain", 20.0) for i in range(cups)], seed)
    return machine.advance(cups * 60.0), machine


def truth(machine: Machine) -> list[tuple[str, list[tuple[str, str]], str]]:
    return [(h.number, [(r.elapsed_s, r.a_w) for r in h.readings], "end line") for h in machine.held]


def kinds(entries: Iterable[Entry]) -> list[str]:
    return [one.kind for one in entries]


def test_a_day_is_read_as_it_was(demo: InstrumentRule, clock: Hands) -> None:
    bench, (lines, machine) = Bench(demo, clock), day()
    bench.say(*lines)
    assert bench.runs == truth(machine)
    assert "unread" not in kinds(bench.entries)


@settings(max_examples=60)
@given(st.data())
def test_a_day_said_again_from_anywhere_is_the_same_day(data: st.DataObject) -> None:
    """Cut anywhere, restarted, asked to repeat: none lost, none doubled; as often as one likes."""
    import tomllib

    from isohume.outlets.capture.instrument.program import demo_rule
    from isohume.outlets.capture.rule_file import rule_of

    rule = rule_of(tomllib.loads(demo_rule("/dev/null", "OW-1"))).instruments[0]
    bench = Bench(rule, Hands())
    machine = Machine([Cup(0.6, "plain", 20.0), Cup(0.7, "slow", 20.0), Cup(0.75, "warm", 20.0)], 11)
    lines: list[str] = []
    for step in range(8):
        lines = machine.advance((step + 1) * 20.0)
        heard = data.draw(st.integers(0, len(lines)))
        bench.say(*lines[:heard])  # the rest is lost: the cable is out
        bench.reader.lost()
        if data.draw(st.booleans()):
            bench.restart()
        bench.reader.connected(bench.clock.pass_(1))
        said = [line for line in machine.answer(f"tell from {bench.reader.asks_from}") if line[:4] != "tell"]
        cut = data.draw(st.sampled_from([len(said), len(said), len(said) // 2]))
        bench.say(*said[:cut])
        if cut < len(said):  # and out again within the repeat
            bench.reader.lost()
            bench.restart()
            bench.reader.connected(bench.clock.pass_(1))
            bench.say(*said)
    bench.say(*machine.advance(400.0))
    assert bench.runs == truth(machine)


def test_doubled_lines_are_dropped_and_counted(demo: InstrumentRule, clock: Hands) -> None:
    bench, (lines, machine) = Bench(demo, clock), day(2)
    bench.say(*(line for line in lines for _ in range(2)))
    assert bench.runs == truth(machine)
    assert bench.reader.state.dropped >= sum(len(held.readings) + 1 for held in machine.held)


def test_another_value_at_a_known_time_is_kept_as_not_read(demo: InstrumentRule, clock: Hands) -> None:
    bench, (lines, _) = Bench(demo, clock), day(1)
    reading = next(line for line in lines if "; 4.0 s;" in line)
    bench.say(*lines[: lines.index(reading) + 1])
    (entry,) = bench.say(reading.replace("water 0.", "water 0.9"))
    assert entry.kind == "unread"
    assert entry.reason.startswith("4.0 s of this run was read before as")


def test_a_number_used_again_is_another_run(demo: InstrumentRule, clock: Hands) -> None:
    """An instrument whose memory was cleared counts from 1 again: held back until it differs, then all of it."""
    bench = Bench(demo, clock)
    first, _ = day(1, seed=1)
    second, machine = day(1, seed=2)
    bench.say(*first)
    bench.say(*second)
    assert len(bench.runs) == 2
    assert bench.runs[1:] == truth(machine)


def test_a_run_cut_short_is_said_again_whole(demo: InstrumentRule, clock: Hands) -> None:
    bench, (lines, machine) = Bench(demo, clock), day(1)
    bench.say(*lines[:6])
    assert [one.reason for one in bench.quiet(121)] == ["silence"]
    bench.say(*(line for line in machine.answer("tell from 0001") if line[:4] != "tell"))
    assert bench.runs[1:] == truth(machine)
    start = [one for one in bench.entries if one.kind == "start"][1]
    assert start.reason == "said again whole: run-000001 was ended by silence before its end"


def test_a_lost_instrument_that_repeats_is_waited_for(demo: InstrumentRule, clock: Hands) -> None:
    bench, (lines, _) = Bench(demo, clock), day(1)
    bench.say(*lines[:6])
    bench.reader.lost()
    assert bench.quiet(600) == []
    assert [one.reason for one in bench.quiet(3600)] == ["instrument lost"]


PLAIN = r"^((?P<number>\d+)/)?((?P<elapsed_s>\d+) s )?a (?P<a_w>[\d.]+)$"


def plain(pattern: str, run: RunRule | None = None, source: object = None) -> InstrumentRule:
    line = LineRule((read_pattern(pattern, "p", GROUPS),))
    return InstrumentRule("OW-1", source or StandardInput(), line, run or RunRule())  # type: ignore[arg-type]


def test_without_start_and_end_a_number_that_changes_is_the_next_run(clock: Hands) -> None:
    bench = Bench(plain(PLAIN), clock)
    bench.say("1/0 s a 0.5", "1/5 s a 0.6", "2/0 s a 0.7", "2/5 s a 0.7")
    assert bench.runs == [
        ("1", [("0", "0.5"), ("5", "0.6")], "next start"),
        ("2", [("0", "0.7"), ("5", "0.7")], ""),
    ]


def test_without_a_number_a_clock_that_goes_back_is_the_next_run(clock: Hands) -> None:
    bench = Bench(plain(r"^(?P<elapsed_s>\d+) s a (?P<a_w>[\d.]+)$"), clock)
    bench.say("5 s a 0.5", "9 s a 0.6", "9 s a 0.6", "2 s a 0.7")
    assert [run[1] for run in bench.runs] == [[("5", "0.5"), ("9", "0.6")], [("2", "0.7")]]
    assert bench.reader.state.dropped == 1


def test_a_new_file_is_the_next_run(clock: Hands) -> None:
    bench = Bench(plain(r"^(?P<elapsed_s>\d+) s a (?P<a_w>[\d.]+)$"), clock)
    bench.say("1 s a 0.5", new_file=True)
    bench.say("2 s a 0.5")
    bench.say("3 s a 0.7", new_file=True)
    assert [len(run[1]) for run in bench.runs] == [2, 1]


START_APART = RunRule(read_pattern("^begin$", "p", GROUPS), read_pattern("^end$", "p", GROUPS))


def test_a_start_waits_for_the_number_that_its_readings_bear(clock: Hands) -> None:
    bench = Bench(plain(r"^(?P<number>\d+)/(?P<elapsed_s>\d+) s a (?P<a_w>[\d.]+)$", START_APART), clock)
    assert bench.say("begin") == []
    made = bench.say("7/0 s a 0.5")
    assert [(one.kind, one.values.get("number")) for one in made] == [("start", "7"), ("reading", "7")]
    bench.say("end", "begin", "7/0 s a 0.5", "end")  # said again
    assert len(bench.runs) == 1
    assert kinds(bench.say("begin", "begin", "8/0 s a 0.5")) == ["unread", "start", "reading"]


def test_time_is_this_computers_steady_clock_where_the_instrument_has_none(clock: Hands) -> None:
    bench = Bench(plain(r"^a (?P<a_w>[\d.]+)$"), clock)
    bench.say("a 0.5")
    clock.pass_(2.5)
    clock.set_wall(3600)  # somebody sets the clock forward, and then back
    bench.say("a 0.6")
    clock.pass_(2.5)
    clock.set_wall(-7200)
    bench.say("a 0.7", "a 0.7")
    assert bench.runs[0][1] == [("0.000", "0.5"), ("2.500", "0.6"), ("5.000", "0.7"), ("5.001", "0.7")]


def test_a_run_goes_on_over_a_restart_of_the_agent_and_of_the_computer(clock: Hands) -> None:
    bench = Bench(plain(r"^a (?P<a_w>[\d.]+)$"), clock)
    bench.say("a 0.5")
    clock.pass_(10)
    bench.restart()
    bench.say("a 0.6")
    clock.pass_(50)
    clock.boot, clock.steady = "second boot", 3.0
    bench.restart()
    (entry,) = bench.say("a 0.7")
    assert [elapsed for elapsed, _ in bench.runs[0][1]] == ["0.000", "10.000", "60.000"]
    assert entry.reason.startswith("this computer was started again")
    assert len(bench.runs) == 1


def test_silence_and_the_end_of_standard_input(clock: Hands) -> None:
    bench = Bench(plain(r"^a (?P<a_w>[\d.]+)$"), clock)
    bench.say("a 0.5")
    assert bench.quiet(119) == []
    assert [one.reason for one in bench.quiet(1)] == ["silence"]
    bench.say("a 0.5")
    assert [one.reason for one in bench.reader.gone(clock.now())] == ["instrument lost"]


def test_an_instrument_that_says_it_is_ready_goes_on_with_no_run(demo: InstrumentRule, clock: Hands) -> None:
    bench, (lines, _) = Bench(demo, clock), day(1)
    bench.say(*lines[:6])
    ends = []
    for _ in range(13):
        ends += bench.quiet(10)
        bench.say("resting; block 25.00; warmed")
    assert [one.reason for one in ends] == ["silence"]


def test_an_instrument_that_cannot_repeat_is_lost_after_the_silence(clock: Hands) -> None:
    bench = Bench(plain(r"^a (?P<a_w>[\d.]+)$", source=SerialSource("/dev/null")), clock)
    bench.say("a 0.5")
    bench.reader.lost()
    assert [one.reason for one in bench.quiet(121)] == ["instrument lost"]


def test_an_end_of_no_run(demo: InstrumentRule, clock: Hands) -> None:
    bench = Bench(demo, clock)
    (entry,) = bench.say("cup 0009 taken out after 12.0 s")
    assert (entry.kind, entry.reason) == ("unread", "an end line, and no such run is open")


def test_a_state_that_does_not_change_is_told_once_a_minute(demo: InstrumentRule, clock: Hands) -> None:
    bench = Bench(demo, clock)
    told = 0
    for _ in range(130):
        told += len(bench.say("resting; block 24.98; warming"))
        clock.pass_(1)
    assert told == 3
    assert kinds(bench.say("resting; block 25.00; warmed")) == ["state"]


def test_the_note_of_a_clock_that_was_set_goes_with_the_next_reading(demo: InstrumentRule, clock: Hands) -> None:
    bench, (lines, _) = Bench(demo, clock), day(1)
    bench.say(*lines[:4])
    bench.reader.note = "this computer's clock was set back by 3600 s"
    first, second = bench.say(*lines[4:6])
    assert first.reason == "this computer's clock was set back by 3600 s"
    assert second.reason == ""


@pytest.mark.parametrize("number", ["0042", "7"])
def test_it_asks_from_the_last_number(demo: InstrumentRule, clock: Hands, number: str) -> None:
    bench = Bench(demo, clock)
    assert bench.reader.asks_from == "0"
    bench.say(f"cup {number} laid in")
    bench.restart()
    assert bench.reader.asks_from == number
    assert replace(bench.reader.state).number == number
