"""Every row of the tables of sorption is a check that holds or is left out with a reason; none is both or neither."""

from __future__ import annotations

import dataclasses
from collections import Counter
from collections.abc import Callable
from typing import Any

import pytest

from isohume.outlets.validate import sorption_checks, sorption_measured_checks
from isohume.outlets.validate.check import Check, read_table

FOUND = [*sorption_checks.checks(), *sorption_measured_checks.checks()]
LEFT = [*sorption_checks.left_out(), *sorption_measured_checks.left_out()]


@pytest.mark.parametrize("check", FOUND, ids=[check.id for check in FOUND])
def test_holds(check: Check) -> None:
    assert check.holds, f"{check.what}: {check.expected} printed, {check.computed} computed, +-{check.tolerance}"


@pytest.mark.parametrize(
    ("table", "key"),
    [("isotherms", "id"), ("isotherm_params", "id"), ("isotherm_refits", "id"), ("measured_sets", "set_id")],
)
def test_every_row_is_named_once(table: str, key: str) -> None:
    named = [one.id for one in (*FOUND, *LEFT) if one.file == f"{table}.csv"]
    assert sorted(named) == sorted(row[key] for row in read_table(table))


def test_the_counts_are_these() -> None:
    assert Counter(check.file for check in FOUND) == {
        "isotherms.csv": 381,
        "isotherm_params.csv": 3,
        "isotherm_refits.csv": 54,
        "measured_sets.csv": 45,
        "measured_points.csv": 63,
    }
    assert all(left.reason for left in LEFT)
    rows = {row["id"]: row for row in read_table("isotherms")}
    used = Counter(rows[check.id]["kind"] for check in FOUND if check.file == "isotherms.csv")
    assert used == {"check_value": 343, "fit_target_exact": 11, "params": 18, "published_value": 9}


def test_drafts_from_memory_are_no_check() -> None:
    drafts = {row["id"] for row in read_table("isotherms") if row["how"] == "memory" and not row["check"]}
    assert drafts
    assert drafts <= {left.id for left in LEFT}


def test_every_tolerance_is_small_beside_the_value() -> None:
    """A check must be able to fail: no tolerance above 3 % of a value, but for differences and standard errors."""
    for check in FOUND:
        if isinstance(check.expected, float) and not any(word in check.what for word in ("difference", "u(", "u of")):
            assert check.tolerance <= 0.03 * abs(check.expected), (check.id, check.what)


def _failed(outcomes: Callable[[], Any]) -> set[str]:
    return {check.id for check in outcomes() if not check.holds}


def test_a_wrong_unit_or_a_wrong_heat_fails_its_rows(monkeypatch: pytest.MonkeyPatch) -> None:
    real = sorption_checks.moisture_percent
    monkeypatch.setattr(sorption_checks, "moisture_percent", lambda *given: 1.001 * real(*given))
    monkeypatch.setattr(sorption_checks, "net_heat_between", lambda *given: 0.0)
    rows = {row["id"]: row for row in read_table("isotherms")}
    failed = _failed(sorption_checks.checks)
    assert sum(rows[one]["kind"] == "check_value" for one in failed if one in rows) > 320


def test_a_recommended_step_fails_its_set(monkeypatch: pytest.MonkeyPatch) -> None:
    real = sorption_measured_checks.choose
    monkeypatch.setattr(
        sorption_measured_checks, "choose", lambda panel: dataclasses.replace(real(panel), recommended="GAB")
    )
    failed = _failed(sorption_measured_checks.checks)
    assert len(failed) == 45
