"""A watched folder: files that grow, are cut short, put in place of another, renamed; each line once."""

from __future__ import annotations

import json
import os
from pathlib import Path
from typing import Any

import pytest
from tests.outlets.capture.conftest import Hands

from isohume.outlets.capture.line import read_line
from isohume.outlets.capture.pattern import read_pattern
from isohume.outlets.capture.rule import GROUPS, FolderSource, InstrumentRule, LineRule, RunRule
from isohume.outlets.capture.sources.folder import NO_BEGINNING, NO_END, WatchedFolder
from isohume.outlets.capture.sources.heard import LINES, Heard, Inbox


class Watch:
    """A folder looked at when a test says so; `restart` forgets all but what was committed."""

    def __init__(self, folder: Path, clock: Hands) -> None:
        line = LineRule((read_pattern(r"(?P<elapsed_s>\d+) (?P<a_w>[\d.]+)", "p", GROUPS),))
        self.rule = InstrumentRule("OW-2", FolderSource(str(folder), "*.txt"), line, RunRule())
        self.clock, self.marks = clock, dict[str, dict[str, Any]]()
        self.restart()

    def restart(self) -> None:
        self.inbox = Inbox()
        kept = json.loads(json.dumps(self.marks))
        self.folder = WatchedFolder(self.rule, self.inbox, self.clock, kept)  # type: ignore[arg-type]

    def look(self, *, commit: bool = True) -> list[str]:
        """The lines of one look."""
        self.folder.look()
        heard = [one for one in self.inbox.take(0) if one.kind == LINES]
        if commit:
            for one in heard:
                for path, body in one.marks:
                    self.marks.pop(path, None)
                    if body is not None:
                        self.marks[path] = body
        self.heard: list[Heard] = heard
        return [line.decode() for one in heard for line in one.lines]


@pytest.fixture
def watch(tmp_path: Path, clock: Hands) -> Watch:
    folder = tmp_path / "dropped"
    folder.mkdir()
    return Watch(folder, clock)


@pytest.fixture
def file(tmp_path: Path) -> Path:
    return tmp_path / "dropped" / "a.txt"


def add(path: Path, text: str) -> None:
    with path.open("a", encoding="utf-8", newline="") as opened:
        opened.write(text)


def test_a_file_grows_and_only_whole_lines_count(watch: Watch, file: Path) -> None:
    add(file, "1 0.5\r\n2 0.")
    assert watch.look() == ["1 0.5"]
    assert watch.heard[0].new_file
    add(file, "6\r\n3 0.7\r\n")
    assert watch.look() == ["2 0.6", "3 0.7"]
    assert not watch.heard[0].new_file
    assert watch.look() == []


def test_half_a_line_is_no_reading(watch: Watch, file: Path, clock: Hands) -> None:
    """0.6 was flushed, the rest of 0.6513 came eleven seconds later: 0.6 was never read by the instrument."""
    add(file, "1 0.5\n2 0.6")
    assert watch.look() == ["1 0.5"]
    clock.pass_(11)
    assert watch.look() == []
    add(file, "513\n3 0.7\n")
    assert watch.look() == ["2 0.6513", "3 0.7"]
    assert [one.doubtful for one in watch.heard] == [""]


def test_a_last_line_without_an_end_is_kept_as_not_read(watch: Watch, file: Path, clock: Hands) -> None:
    add(file, "1 0.5\n2 0.6")
    assert watch.look() == ["1 0.5"]
    clock.pass_(watch.rule.run.silence_s - 1)
    assert watch.look() == []
    clock.pass_(2)
    assert watch.look() == ["2 0.6"]
    assert [one.doubtful for one in watch.heard] == [NO_END]
    watch.restart()
    add(file, "513\n3 0.7\n")
    assert watch.look() == ["513", "3 0.7"]
    assert [one.doubtful for one in watch.heard] == [NO_BEGINNING, ""]


@pytest.mark.parametrize("end", ["\n", "\r\n"])
def test_an_end_that_comes_late_is_no_line(watch: Watch, file: Path, clock: Hands, end: str) -> None:
    add(file, "1 0.5")
    watch.look()
    clock.pass_(watch.rule.run.silence_s)
    assert watch.look() == ["1 0.5"]
    add(file, f"{end}2 0.6{end}")
    assert watch.look() == ["2 0.6"]
    assert not watch.heard[-1].doubtful


def test_what_is_new_in_a_file_that_was_watched_was_written_now(watch: Watch, file: Path, clock: Hands) -> None:
    """A new file is as old as its own time says; another computer's clock may be hours off."""
    then = clock.wall_ms // 1000 - 10800
    add(file, "1 0.5\n")
    os.utime(file, (then, then))
    watch.look()
    assert watch.heard[0].written_ms == then * 1000
    clock.pass_(2)
    watch.look()
    clock.pass_(2)
    add(file, "2 0.5\n")
    os.utime(file, (then + 4, then + 4))
    watch.look()
    assert watch.heard[0].written_ms == clock.wall_ms
    add(file, "3 0.5\n")
    os.utime(file, (then + 8, then + 8))
    clock.pass_(3600)  # nobody looked
    watch.look()
    assert watch.heard[0].written_ms == (then + 8) * 1000


def test_killed_before_the_commit_the_lines_come_again_and_after_it_they_do_not(watch: Watch, file: Path) -> None:
    add(file, "1 0.5\n")
    assert watch.look(commit=False) == ["1 0.5"]
    watch.restart()
    assert watch.look() == ["1 0.5"]
    watch.restart()
    assert watch.look() == []
    add(file, "2 0.6\n")
    assert watch.look() == ["2 0.6"]


def test_a_file_cut_short_or_put_in_place_is_a_new_one(watch: Watch, file: Path) -> None:
    add(file, "1 0.5\n2 0.6\n")
    watch.look()
    file.write_text("9 0.9\n", encoding="utf-8")
    assert watch.look() == ["9 0.9"]
    assert watch.heard[0].new_file
    other = file.with_suffix(".part")
    other.write_text("8 0.8\n7 0.7\n6 0.6\n", encoding="utf-8")
    os.replace(other, file)
    assert watch.look() == ["8 0.8", "7 0.7", "6 0.6"]


def test_a_file_written_anew_with_more_lines_goes_on_where_it_was(watch: Watch, file: Path) -> None:
    """As programs do that save the whole file each time, in place or by a rename."""
    add(file, "1 0.5\n")
    watch.look()
    file.write_text("1 0.5\n2 0.6\n", encoding="utf-8")
    assert watch.look() == ["2 0.6"]
    other = file.with_suffix(".part")
    other.write_text("1 0.5\n2 0.6\n3 0.7\n", encoding="utf-8")
    os.replace(other, file)
    assert watch.look() == ["3 0.7"]


@pytest.mark.parametrize("turned", ["a-old.txt", "a.txt.1"])
@pytest.mark.parametrize("restarted", [False, True])
def test_a_file_turned_over_is_read_to_its_end(watch: Watch, file: Path, turned: str, restarted: bool) -> None:
    add(file, "1 0.5\n")
    watch.look()
    add(file, "2 0.6\n")
    file.rename(file.with_name(turned))
    add(file, "3 0.7\n")
    if restarted:
        watch.restart()
    assert sorted(watch.look()) == ["2 0.6", "3 0.7"]
    watch.restart()
    assert watch.look() == []
    add(file, "4 0.8\n")
    assert watch.look() == ["4 0.8"]


@pytest.mark.parametrize("restarted", [False, True])
def test_a_file_renamed_again_and_again_goes_on_where_it_was(watch: Watch, file: Path, restarted: bool) -> None:
    """A name that it bore long ago must not say how far it was read: the kill proof had runs twice by it."""
    said = []
    for i in range(5):
        add(file, f"{i} 0.5\n")
        said += watch.look()
        file = file.rename(file.with_name(f"{i}-{file.name}"))
        if restarted:
            watch.restart()
    add(file, "5 0.5\n")
    assert said + watch.look() == [f"{i} 0.5" for i in range(6)]
    assert list(watch.marks) == [file.name]


def test_files_are_read_in_the_order_in_which_they_were_written(watch: Watch, file: Path) -> None:
    for i, name in enumerate(("z.txt", "b.txt")):
        add(file.with_name(name), f"{i} 0.5\n")
        os.utime(file.with_name(name), (1000 + i, 1000 + i))
    add(file.with_name("other.csv"), "9 0.9\n")
    add(file.with_name(".hidden.txt"), "9 0.9\n")
    assert watch.look() == ["0 0.5", "1 0.5"]


def test_a_folder_that_is_away_is_told_once_and_comes_back(watch: Watch, file: Path) -> None:
    folder = file.parent
    folder.rename(folder.with_name("away"))
    for _ in range(3):
        watch.folder.look()
    (lost,) = watch.inbox.take(0)
    assert lost.kind == "lost"
    folder.with_name("away").rename(folder)
    add(file, "1 0.5\n")
    assert watch.look() == ["1 0.5"]


def test_a_byte_order_mark_is_no_part_of_a_line(watch: Watch, file: Path) -> None:
    file.write_bytes("\ufeff1 0.5\n".encode())
    watch.folder.look()
    (line,) = [one for heard in watch.inbox.take(0) for one in heard.lines]
    assert read_line(line, watch.rule).text == "1 0.5"
