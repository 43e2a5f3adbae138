"""`isohume lookback` on the demonstration plant: its contract, its numbers, and that nothing of the folder changes."""

from __future__ import annotations

import shutil
import sqlite3
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from isohume.bench.record.tables import DATABASE

Ask = Callable[..., Any]
NUMBER = (int, float)
KEYS = "lot value corrected u probability_of_conformity verdict_before verdict_after"


def the_files(folder: Path) -> dict[str, tuple[int, int]]:
    return {str(p): (p.stat().st_size, p.stat().st_mtime_ns) for p in folder.rglob("*") if p.is_file()}


def test_plant_a_eleven_lots_two_beyond_ranked(ask: Ask, small_plant: Path) -> None:
    before = the_files(small_plant)
    answer = ask("lookback", small_plant, "--instrument", "OW-1", "--json")
    content = answer.json
    assert answer.status == 1
    assert list(content)[:4] == ["failed_check", "since", "count", "results"]
    assert isinstance(content["failed_check"], int)
    assert content["since"] == "2026-11-24T06:05:00+00:00"
    assert content["count"] == len(content["results"]) == 11
    for row in content["results"]:
        assert [key for key in row if key in KEYS.split()] == KEYS.split()
        assert all(isinstance(row[key], NUMBER) for key in KEYS.split()[1:5])
        assert row["corrected"] == pytest.approx(row["value"] - row["bias"], abs=1e-12)
        assert row["disposition"] == "hold"
    corrected = {round(row["value"], 3): round(row["corrected"], 3) for row in content["results"]}
    assert (corrected[0.642], corrected[0.645]) == (0.653, 0.656)
    assert sum(row["corrected"] > 0.650 for row in content["results"]) == 2
    probabilities = [row["probability_of_conformity"] for row in content["results"]]
    assert probabilities == sorted(probabilities)
    conditional = {row["verdict_after"] for row in content["results"] if 0.644 < row["corrected"] <= 0.650}
    assert conditional == {"conditional pass"}
    assert the_files(small_plant) == before, "it only reads"


def test_by_number_in_any_case_and_for_a_named_check(ask: Ask, small_plant: Path) -> None:
    one = ask("lookback", small_plant, "--instrument", "ow-1", "--json").json
    number = str(one["failed_check"])
    assert ask("lookback", small_plant, "--instrument", "1", "--check", number, "--json").json == one


def test_the_readable_table_says_how_long_it_took(ask: Ask, small_plant: Path) -> None:
    answer = ask("lookback", small_plant, "--instrument", "OW-1")
    assert answer.status == 1
    took = next(line for line in answer.out.splitlines() if line.startswith("took"))
    assert float(took.split()[1]) < 1
    assert "11, 2 beyond a limit once corrected" in answer.out
    assert "never releases" in answer.out


def test_an_instrument_without_a_failed_check_has_nothing_at_risk(ask: Ask, small_plant: Path) -> None:
    answer = ask("lookback", small_plant, "--instrument", "OW-2", "--json")
    assert answer.status == 0
    content = answer.json
    assert (content["failed_check"], content["since"], content["count"], content["results"]) == (None, None, 0, [])
    assert ask("lookback", small_plant, "--instrument", "OW-2").status == 0


@pytest.mark.parametrize(
    ("words", "field", "said"),
    [
        (("--instrument", "OW-9"), "instrument", "OW-1 (1), OW-2 (2)"),
        (("--instrument", ""), "instrument", "OW-1 (1), OW-2 (2)"),
        (("--instrument", "OW-1", "--check", "1"), "check", "a failed check of OW-1"),
        (("--instrument", "OW-1", "--check", "9" * 40), "check", "a failed check of OW-1"),
        (("--instrument", "OW-2", "--check", "1"), "check", "it has none"),
        ((), "instrument", "--instrument is needed"),
    ],
)
def test_bad_words_are_named(ask: Ask, small_plant: Path, words: tuple[str, ...], field: str, said: str) -> None:
    refusal = ask("lookback", small_plant, *words).refusal
    assert refusal.startswith(f"{field}: read ")
    assert said in refusal


def test_a_folder_without_a_site_is_refused_and_stays_as_it_is(ask: Ask, records: Path, tmp_path: Path) -> None:
    assert "data folder of the site" in ask("lookback", records, "--instrument", "OW-1").refusal
    assert "data folder of the site" in ask("lookback", tmp_path / "nowhere", "--instrument", "OW-1").refusal
    broken = tmp_path / "broken"
    broken.mkdir()
    (broken / DATABASE).write_bytes(b"not a database" * 300)
    assert "data folder of the site" in ask("lookback", broken, "--instrument", "OW-1").refusal


def test_a_folder_is_named_as_it_was_typed(
    ask: Ask, small_plant: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """`.` was told as nothing, and a folder inside others by its last part alone."""
    monkeypatch.chdir(tmp_path)
    (tmp_path / "a" / "b").mkdir(parents=True)
    for typed in (".", "a/b", str(tmp_path / "a")):
        said = ask("lookback", typed, "--instrument", "OW-1").refusal
        assert said.startswith(f"folder: read '{typed}'; allowed: a data folder of the site"), said


def test_a_folder_of_an_older_version_says_what_to_do(ask: Ask, small_plant: Path, tmp_path: Path) -> None:
    folder = tmp_path / "data"
    shutil.copytree(small_plant, folder)
    older = sqlite3.connect(folder / DATABASE)
    older.execute("DROP TABLE checks_checkreading")
    older.execute("ALTER TABLE checks_check RENAME COLUMN covers_low TO covered")
    older.close()
    assert "isohume serve --data once" in ask("lookback", folder, "--instrument", "OW-1").refusal


def test_it_reads_beside_a_writer_that_has_not_finished(ask: Ask, small_plant: Path, tmp_path: Path) -> None:
    """A site at work: its log holds what the database file does not, and a write is under way."""
    folder = tmp_path / "data"
    shutil.copytree(small_plant, folder)
    writer = sqlite3.connect(folder / DATABASE, isolation_level=None)
    writer.execute("PRAGMA journal_mode = WAL")
    writer.execute("PRAGMA wal_autocheckpoint = 0")
    writer.execute("UPDATE bench_lot SET description = 'read again'")  # in the log
    writer.execute("BEGIN IMMEDIATE")
    writer.execute("DELETE FROM bench_handover")
    try:
        assert ask("lookback", folder, "--instrument", "OW-1", "--json").json["count"] == 11
    finally:
        writer.execute("ROLLBACK")
        writer.close()
