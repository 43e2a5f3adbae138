"""Runs and the use that may be made of them: replicate, re-read, void, other component, refused."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from isohume.bench.reading import ReadingRules, judge_runs, read_runs
from isohume.foundation.quantity import InputError

NOW = datetime(2026, 9, 15, 18, 0, tzinfo=UTC)
HEADER = (
    "run,portion,component,a_w,read_at,sample_temperature_c,block_temperature_c,void_reason,override_reason,"
    "instrument\n"
)
RULES = ReadingRules("filling", 0.53, False, 25.0, 0.5, components=("filling", "base"), instrument="OW-1")


def uses(tmp_path: Path, *lines: str) -> list[str]:
    """The use of each line's run, in time order."""
    return [judged.use for judged in judge_runs(read_runs(file(tmp_path, *lines), NOW), RULES)]


def file(tmp_path: Path, *lines: str) -> Path:
    """A readings file."""
    path = tmp_path / "r.csv"
    path.write_text(HEADER + "\n".join(lines) + "\n", encoding="utf-8")
    return path


def test_a_second_read_of_one_cup_is_not_a_replicate(tmp_path: Path) -> None:
    assert uses(
        tmp_path,
        "1,A,filling,0.531,2026-09-15T08:00Z,,,,",
        "2,A,filling,0.532,2026-09-15T08:05Z,,,,",
        "3,B,filling,0.530,2026-09-15T08:10Z,,,,",
    ) == ["replicate", "re-read", "replicate"]


def test_time_order_decides_which_is_the_re_read(tmp_path: Path) -> None:
    judged = judge_runs(
        read_runs(
            file(tmp_path, "2,A,filling,0.532,2026-09-15T08:05Z,,,,", "1,A,filling,0.531,2026-09-15T08:00Z,,,,"), NOW
        ),
        RULES,
    )
    assert [(j.run.run, j.use) for j in judged] == [("1", "replicate"), ("2", "re-read")]


def test_after_a_void_run_the_next_read_of_the_cup_counts(tmp_path: Path) -> None:
    assert uses(
        tmp_path,
        "1,A,filling,0.551,2026-09-15T08:00Z,,,lid left off,",
        "2,A,filling,0.531,2026-09-15T08:05Z,,,,",
    ) == ["void", "replicate"]


def test_another_component_is_kept_apart(tmp_path: Path) -> None:
    assert uses(tmp_path, "1,A,base,0.291,2026-09-15T08:00Z,,,,") == ["other component"]


@pytest.mark.parametrize(
    ("line", "use"),
    [
        ("1,A,filling,0.531,2026-09-15T08:00Z,25.4,25.0,,", "replicate"),
        ("1,A,filling,0.531,2026-09-15T08:00Z,28.4,25.0,,", "refused"),
        ("1,A,filling,0.531,2026-09-15T08:00Z,28.4,25.0,,only portion left", "replicate"),
        ("1,A,filling,0.531,2026-09-15T08:00Z,45.0,25.0,,only portion left", "refused"),
        ("1,A,filling,0.531,2026-09-15T08:00Z,25.0,25.6,,", "refused"),
    ],
)
def test_temperatures(tmp_path: Path, line: str, use: str) -> None:
    assert uses(tmp_path, line) == [use]


def test_every_row_is_accounted_for(tmp_path: Path) -> None:
    lines = [f"{i},P{i},filling,0.53{i},2026-09-15T08:0{i}Z,,,{'dropped' if i == 3 else ''}," for i in range(6)]
    assert len(uses(tmp_path, *lines)) == 6


@pytest.mark.parametrize(
    ("line", "says"),
    [
        ("1,,filling,0.53,2026-09-15T08:00Z,,,,", "row 2: portion"),
        ("1,A,filling,65.2,2026-09-15T08:00Z,,,,", "row 2: a_w: read '65.2'"),
        ("1,A,filling,nan,2026-09-15T08:00Z,,,,", "a_w: read 'nan'"),
        ("1,A,filling,,2026-09-15T08:00Z,,,,", "a_w"),
        ("1,A,filling,0.53,2026-09-15,,,,", "read_at"),
        ("1,A,filling,0.53,2026-09-16T08:00Z,,,,", "a moment not after now"),
        ("1,A,filling,0.53,2026-09-15T08:00Z,77,25.0,,", "degF meant (25.0 degC)"),
        ("1,A,filling,0.53,2026-09-15T08:00Z,77 F,25.0,,", "convert degF"),
    ],
)
def test_bad_rows_name_row_field_and_value(tmp_path: Path, line: str, says: str) -> None:
    with pytest.raises(InputError) as refused:
        read_runs(file(tmp_path, line), NOW)
    assert says in str(refused.value)
    assert str(refused.value).startswith("r.csv: row 2: ")


def test_a_run_number_twice_is_refused(tmp_path: Path) -> None:
    line = "1,A,filling,0.53,2026-09-15T08:00Z,,,,"
    with pytest.raises(InputError, match="each run number once"):
        read_runs(file(tmp_path, line, line), NOW)


def test_a_clock_a_little_ahead_is_not_the_future(tmp_path: Path) -> None:
    soon = (NOW + timedelta(minutes=4)).isoformat()
    assert len(read_runs(file(tmp_path, f"1,A,filling,0.53,{soon},,,,"), NOW)) == 1


@pytest.mark.parametrize(
    ("line", "says"),
    [
        ("1,A,fillng,0.53,2026-09-15T08:00Z,,,,", "did you mean 'filling'"),
        ("1,A,,0.53,2026-09-15T08:00Z,,,,", "which of filling, base was read"),
        ("1,A,filling,0.53,2026-09-15T08:00Z,,,,,OW-2", "OW-1, the instrument of the lot file"),
    ],
)
def test_slips_that_would_hide_a_portion_are_refused(tmp_path: Path, line: str, says: str) -> None:
    with pytest.raises(InputError, match=says):
        judge_runs(read_runs(file(tmp_path, line), NOW), RULES)


def test_a_component_is_known_in_any_case(tmp_path: Path) -> None:
    assert uses(tmp_path, "1,A,Filling,0.53,2026-09-15T08:00Z,,,,OW-1") == ["replicate"]


def test_a_reading_wetter_than_expected_is_guarded_as_what_it_is(tmp_path: Path) -> None:
    """Expected 0.53, read 0.95 at 27 degC in a 25 degC block: at 0.95 water condenses above 0.9 K."""
    judged = judge_runs(read_runs(file(tmp_path, "1,A,filling,0.95,2026-09-15T08:00Z,27.0,25.0,,"), NOW), RULES)
    assert judged[0].use == "refused"
    assert "condense" in judged[0].reasons[0]


def test_a_missing_sample_temperature_is_said(tmp_path: Path) -> None:
    judged = judge_runs(read_runs(file(tmp_path, "1,A,filling,0.53,2026-09-15T08:00Z,,,,"), NOW), RULES)
    assert "could not judge" in judged[0].reasons[0]


def test_several_components_need_a_specification_that_names_its_own(tmp_path: Path) -> None:
    lines = ("1,A,filling,0.53,2026-09-15T08:00Z,,,,", "2,B,base,0.53,2026-09-15T08:05Z,,,,")
    with pytest.raises(InputError, match="a specification that names its own"):
        judge_runs(read_runs(file(tmp_path, *lines), NOW), ReadingRules("", 0.53, False, 25.0, 0.5))
