"""Every row of run_lengths.csv is a check that holds; a slightly wrong chart fails them."""

import pytest

from isohume.outlets.validate import charts_checks
from isohume.outlets.validate.check import read_table

FOUND = list(charts_checks.checks())


@pytest.mark.parametrize("check", FOUND, ids=[check.id for check in FOUND])
def test_holds(check):
    assert check.holds, f"{check.what}: {check.expected} printed, {check.computed} computed, +-{check.tolerance}"


def test_every_row_is_named_once():
    ids = [row["id"] for row in read_table("run_lengths")]
    assert len(ids) == len(set(ids)) == 58
    assert sorted([*(check.id for check in FOUND), *(left.id for left in charts_checks.left_out())]) == ids


def test_tolerances_are_small_beside_the_values():
    assert all(check.tolerance <= 0.007 * check.expected for check in FOUND)


def test_limits_a_hundredth_wider_are_not_accepted(monkeypatch):
    real = charts_checks.rules_of

    def wider(example):
        rules = real(example)
        return type(rules)(
            rules.kind, rules.rules, rules.baseline, rules.weight, 1.01 * rules.width, rules.k, 1.01 * rules.h
        )

    monkeypatch.setattr(charts_checks, "rules_of", wider)
    failed = {check.id for check in charts_checks.checks() if not check.holds}
    limits = {row["id"] for row in read_table("run_lengths") if not row["example"].startswith("individuals")}
    # steps so large that the chart signals at once hardly feel a hundredth
    slow = {row["id"] for row in read_table("run_lengths") if row["quantity"] in ("shift 0", "shift 0.25", "shift 0.5")}
    assert failed >= limits & slow
