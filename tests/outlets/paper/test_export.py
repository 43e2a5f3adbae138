"""Readings as CSV: complete, and free of formulas."""

from __future__ import annotations

import csv
import io
from pathlib import Path
from typing import Any

import pytest

from isohume.foundation.quantity.errors import InputError
from isohume.outlets.paper.export import neutral, readings_csv, write_readings


def rows(text: str) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(text)))


def test_every_run_is_there_with_numbers_as_typed(record: dict[str, Any]) -> None:
    found = rows(readings_csv(record))
    assert [r["run"] for r in found] == ["41", "42", "43", "44"]
    assert [r["a_w"] for r in found] == ["0.6315", "0.6331", "0.6334", "0.7010"]
    assert {(r["record"], r["lot"]) for r in found} == {("R000001", "SB-1124-07")}
    assert found[3]["use"] == "void"
    assert found[3]["sample_temperature_c"] == ""
    assert "lid left off" in found[3]["reasons"]


@pytest.mark.parametrize(
    "attack",
    ["=1+1", "+cmd|' /C calc'!A0", "-2+3", "@SUM(A1)", "\t=1", "\r=1", "\n=1", "=", "＝1+1", "-1,5", "+-1", "-inf"],
)
def test_a_text_that_starts_a_formula_gets_an_apostrophe(record: dict[str, Any], attack: str) -> None:
    record["readings"][0]["position"] = attack
    record["lot"]["id"] = attack
    first = rows(readings_csv(record))[0]
    assert first["position"] == f"'{attack}"
    assert first["lot"] == f"'{attack}"


@pytest.mark.parametrize("number", ["-5.0", "+25.1", "-0.5e-3", "0.650", "12"])
def test_plain_numbers_stay_numbers(number: str) -> None:
    assert neutral(number) == number


def test_commas_quotes_and_line_ends_inside_a_cell_come_back_whole(record: dict[str, Any]) -> None:
    record["readings"][0]["position"] = 'line 2, "start"\nsecond line'
    found = rows(readings_csv(record))
    assert found[0]["position"] == 'line 2, "start"\nsecond line'
    assert len(found) == 4


def test_the_file_stands_beside_the_certificate(record: dict[str, Any], tmp_path: Path) -> None:
    path = write_readings(record, tmp_path)
    assert path.name == "R000001-readings.csv"
    assert path.read_bytes().decode("utf-8") == readings_csv(record)


def test_another_schema_is_refused(record: dict[str, Any]) -> None:
    with pytest.raises(InputError):
        readings_csv({**record, "schema": "other"})
