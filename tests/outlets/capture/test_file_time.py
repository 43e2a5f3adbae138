"""When the lines of a file were said: by the file's own time and the instrument's clock."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from tests.outlets.capture.conftest import Hands

from isohume.outlets.capture.agent import Agent
from isohume.outlets.capture.entry import wire
from isohume.outlets.capture.file_time import BY_FILE, moments_of
from isohume.outlets.capture.line import LineRead
from isohume.outlets.capture.pattern import read_pattern
from isohume.outlets.capture.rule import GROUPS, FolderSource, InstrumentRule, LineRule, Rule, RunRule
from isohume.outlets.capture.sources.heard import LINES, Heard
from isohume.outlets.capture.spool import Outgoing, Spool


def read(elapsed: str, number: str = "", *, starts: bool = False) -> LineRead:
    return LineRead("", elapsed_s=elapsed, a_w="0.5" if elapsed else "", number=number, starts=starts)


def ages(reads: list[LineRead], clock: Hands, written_ago_s: float) -> list[float]:
    now = clock.now()
    found = moments_of(reads, now, now.wall_ms - round(written_ago_s * 1000))
    assert [round((now.wall_ms - one.wall_ms) / 1000, 3) for one in found] == [
        round(now.steady - one.steady, 3) for one in found
    ]
    return [round(now.steady - one.steady, 3) for one in found]


def test_the_last_line_is_as_old_as_the_file_and_the_others_by_their_clock(clock: Hands) -> None:
    run = [read("", starts=True), read("0.0"), read("240.0"), read("480.0")]
    assert ages(run, clock, 10800) == [11280, 11280, 11040, 10800]


def test_what_has_just_been_written_is_of_now(clock: Hands) -> None:
    assert ages([read("475.0"), read("480.0")], clock, 0.4) == [0, 0]
    assert ages([read("5.0"), read("10.0")], clock, -3600) == [0, 0]  # a file server's clock may be ahead


def test_a_whole_run_that_came_at_once_was_not_listened_to(clock: Hands) -> None:
    assert ages([read("0.0"), read("480.0")], clock, 0) == [480, 0]


def test_runs_of_one_file_stand_one_after_the_other(clock: Hands) -> None:
    several = [read("0.0", "1"), read("100.0", "1"), read("0.0", "2"), read("200.0", "2"), read("300.0", "3")]
    assert ages(several, clock, 1000) == [1600, 1500, 1500, 1300, 1000]


def heard(clock: Hands, written_ms: int, *lines: str) -> Heard:
    raw = tuple(line.encode() for line in lines)
    return Heard("OW-2", LINES, clock.now(), raw, new_file=True, written_ms=written_ms)


def entries(spool: Spool) -> list[dict[str, Any]]:
    out = Outgoing(spool.folder)
    found: list[dict[str, Any]] = [wire(n, text) for n, text in out.after(0, 2000, 10**7)]
    out.close()
    return found


def folder_agent(tmp_path: Path, clock: Hands) -> tuple[Agent, Spool]:
    line = LineRule((read_pattern(r"(?P<elapsed_s>[\d.]+);(?P<a_w>[\d.]+)", "p", GROUPS),))
    rule = Rule((InstrumentRule("OW-2", FolderSource(str(tmp_path)), line, RunRule()),))
    spool = Spool(tmp_path / "spool")
    return Agent(rule, spool, clock, print), spool  # type: ignore[arg-type]


def test_a_file_found_hours_later_bears_its_own_time_and_says_so(tmp_path: Path, clock: Hands) -> None:
    """A run of 480 s, dropped three hours after it was read: the entries bore the moment of the look."""
    agent, spool = folder_agent(tmp_path, clock)
    written = clock.now()
    now = clock.pass_(10800)
    agent.inbox.put(heard(clock, written.wall_ms, "0.0;0.5", "480.0;0.6"))
    agent.turn(wait_s=0)
    for _ in range(30):
        clock.pass_(5)
        agent.turn(wait_s=0)
    start, first, last, end = entries(spool)
    assert (start["dated"], len(BY_FILE) <= 60) == (BY_FILE, True)
    assert start["at"] == first["at"] == written.earlier(480).at
    assert last["at"] == end["at"] == written.at  # not when the silence was over
    assert float(start["steady"]) == now.steady - 10800 - 480
    assert "dated" not in first | last | end
    spool.close()


def test_a_file_that_grows_is_listened_to(tmp_path: Path, clock: Hands) -> None:
    agent, spool = folder_agent(tmp_path, clock)
    for elapsed in (0, 5, 10):
        agent.inbox.put(heard(clock, clock.wall_ms, f"{elapsed}.0;0.5"))
        agent.turn(wait_s=0)
        clock.pass_(5)
    made = entries(spool)
    assert not any("dated" in one for one in made)
    assert made[0]["boot"] == clock.now().boot_name
    spool.close()
