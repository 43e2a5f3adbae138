"""The published schema of the record: the example and every demonstration record fit it, what is wrong does not."""

from __future__ import annotations

import json
from collections.abc import Iterator
from copy import deepcopy
from datetime import UTC, datetime
from importlib.resources import files
from pathlib import Path
from typing import Any

import pytest
from jsonschema import Draft202012Validator

from isohume.bench.record.certification import certify

SCHEMA = json.loads(files("isohume.bench.record").joinpath("schema/record-1.json").read_text(encoding="utf-8"))
EXAMPLE = json.loads(Path(__file__).with_name("record-1-example.json").read_text(encoding="utf-8"))
VALIDATOR = Draft202012Validator(SCHEMA)
NOW = datetime(2026, 9, 15, 18, 0, tzinfo=UTC)
DAY = files("isohume.outlets.demo").joinpath("harrow_lane")
LOTS = sorted(item.name for item in DAY.iterdir() if item.name.endswith(".toml"))


def faults(record: Any) -> list[str]:
    """What the schema says against a record."""
    return [f"{'.'.join(map(str, error.path))}: {error.message}" for error in VALIDATOR.iter_errors(record)]


def changed(path: str, value: Any) -> dict[str, Any]:
    """The example with one thing changed; a path such as readings.0.a_w."""
    record = deepcopy(EXAMPLE)
    *way, last = [int(step) if step.isdigit() else step for step in path.split(".")]
    inner = record
    for step in way:
        inner = inner[step]
    inner[last] = value
    return record  # type: ignore[no-any-return]


def objects_of(schema: Any) -> Iterator[dict[str, Any]]:
    """Every object that the schema describes with named keys."""
    if isinstance(schema, dict):
        if "properties" in schema:
            yield schema
        for inner in schema.values():
            yield from objects_of(inner)
    elif isinstance(schema, list):
        for inner in schema:
            yield from objects_of(inner)


def test_the_schema_is_one_itself() -> None:
    Draft202012Validator.check_schema(SCHEMA)


def test_the_example_fits() -> None:
    assert faults(EXAMPLE) == []


@pytest.mark.parametrize("lot", LOTS)
def test_a_demonstration_record_fits(tmp_path: Path, lot: str) -> None:
    for item in DAY.iterdir():
        (tmp_path / item.name).write_bytes(item.read_bytes())
    assert faults(certify(tmp_path / lot, tmp_path / "data", NOW).record) == []


@pytest.mark.parametrize("key", SCHEMA["required"])
def test_no_key_may_be_left_out(key: str) -> None:
    record = {name: value for name, value in EXAMPLE.items() if name != key}
    assert faults(record) == [f": {key!r} is a required property"]


@pytest.mark.parametrize(
    ("path", "value"),
    [
        ("schema", "isohume.record/2"),
        ("id", "42"),
        ("issued_at", "2026-11-24T15:42:10"),
        ("remark", "a key of nobody"),
        ("readings.0.a_w", 0.6315),
        ("readings.0.use", "ignored"),
        ("readings.0.remark", "a key of nobody"),
        ("specification.upper_limit.value", 0.65),
        ("specification.upper_limit.operator", "≤"),
        ("specification.kind", "both"),
        ("check.covers_a_w", [0.3]),
        ("check.solutions.0.u_reference", -0.001),
        ("decision.verdict", "passed"),
        ("decision.disposition", "maybe"),
        ("decision.probability_of_conformity", 1.2),
        ("decision.value", "0.6323"),
        ("inputs.0.sha256", "B94D27B9934D3E08A52E52D7DA7DABFAC484EFE37A5380EE9088F7ACE2EFCDE9"),
        ("inputs", []),
        ("amendment", {"reason": ""}),
        ("lot.produced_on", "23.11.2026"),
    ],
)
def test_what_is_wrong_does_not_fit(path: str, value: Any) -> None:
    assert [fault for fault in faults(changed(path, value)) if fault.startswith(path.rpartition(".")[0])]


@pytest.mark.parametrize("path", ["check.remark", "check.solutions.0.remark", "decision.remark"])
def test_check_and_decision_may_carry_more(path: str) -> None:
    assert faults(changed(path, "a later key")) == []


def test_every_other_object_names_all_its_keys() -> None:
    open_ones = [o["description"] for o in objects_of(SCHEMA) if o.get("additionalProperties", True)]
    assert len(open_ones) == 3  # a reference solution, a check, a decision
    assert all("check" in text or "decide" in text or "reference solution" in text for text in open_ones)
