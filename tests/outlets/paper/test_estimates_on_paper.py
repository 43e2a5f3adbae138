"""A non-equilibrium estimate is named at the value, on the line, in the readings and in their spreadsheet."""

from __future__ import annotations

import csv
import io
import json
from copy import deepcopy
from pathlib import Path
from typing import Any

import pytest

from isohume.outlets.paper.export import readings_csv
from isohume.outlets.paper.from_record import certificate_content
from isohume.outlets.paper.record_headline import result_words
from isohume.outlets.paper.record_line import line_of

PLAIN = json.loads(Path(__file__).with_name("record.json").read_text(encoding="utf-8"))
EARLY = "non-equilibrium estimate"
DIGEST = "0" * 64


@pytest.fixture
def record() -> dict[str, Any]:
    """The record of these tests with its first replicate stopped too early."""
    changed = deepcopy(PLAIN)
    first = next(reading for reading in changed["readings"] if reading["use"] == "replicate")
    first |= {"stopped": EARLY, "u_estimate": "0.0031"}
    label = f"{EARLY} in 1 of 2 portions"
    changed["estimates"] = {"label": label, "runs": [first["run"]], "of": 2, "u": 0.0031, "validated_by": None}
    changed["decision"]["disposition"] = "hold"
    return changed


def readings_of(record: dict[str, Any]) -> tuple[list[str], list[list[str]]]:
    """The table of readings: its columns and cells."""
    parts = certificate_content(record, DIGEST)["sections"]
    blocks = next(part for part in parts if part["title"] == "Readings")["blocks"]
    table = next(block for block in blocks if block["kind"] == "table")
    return [column["name"] for column in table["columns"]], [row["cells"] for row in table["rows"]]


def test_at_the_value(record: dict[str, Any]) -> None:
    value = result_words(PLAIN).split(",")[0]
    assert result_words(record).startswith(f"{value}, {EARLY} in 1 of 2 portions, U = ")
    assert certificate_content(record, DIGEST)["headline"]["disposition"] == (
        f"Disposition: hold ({EARLY} in 1 of 2 portions)"
    )


def test_on_the_line(record: dict[str, Any]) -> None:
    spec = line_of(record)
    assert spec is not None
    assert next(value.name for value in spec.values if value.kind == "result").endswith(f", {EARLY}")
    assert next(value for value in spec.values if value.kind == "reading").name.endswith(f", {EARLY}")


def test_in_the_readings(record: dict[str, Any]) -> None:
    columns, rows = readings_of(record)
    at = columns.index("Ended as")
    assert [row[at] for row in rows].count(EARLY) == 1


def test_for_a_spreadsheet(record: dict[str, Any]) -> None:
    rows = list(csv.DictReader(io.StringIO(readings_csv(record))))
    assert [(row["stopped"], row["u_estimate"]) for row in rows].count((EARLY, "0.0031")) == 1


def test_a_record_without_one_says_nothing_of_it() -> None:
    assert EARLY not in json.dumps(certificate_content(PLAIN, DIGEST))
    assert "Ended as" not in readings_of(PLAIN)[0]
    assert "stopped" not in readings_csv(PLAIN)
