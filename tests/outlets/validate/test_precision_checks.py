"""Every row of precision.csv is a check that holds; slightly wrong statistics fail their rows."""

import math
from dataclasses import replace

import pytest

from isohume.outlets.validate import precision_checks
from isohume.outlets.validate.check import read_table

FOUND = list(precision_checks.checks())


@pytest.mark.parametrize("check", FOUND, ids=[check.id for check in FOUND])
def test_holds(check):
    assert check.holds, f"{check.what}: {check.expected} printed, {check.computed} computed, +-{check.tolerance}"


def test_every_row_is_named_once():
    rows = read_table("precision")
    ids = [row["id"] for row in rows]
    assert len(ids) == len(set(ids)) == 90
    assert [check.id for check in FOUND] == ids
    assert not list(precision_checks.left_out())
    assert all(row["how"] == "looked-up" or row["check"] for row in rows)


def test_tolerances_are_small_beside_the_values():
    assert all(check.tolerance <= 0.034 * abs(check.expected) for check in FOUND)


def failed():
    return {check.id for check in precision_checks.checks() if not check.holds}


def test_pooling_laboratories_of_unequal_numbers_as_if_equal_is_not_accepted(monkeypatch):
    # s_L^2 = s_d^2 - s_r^2 without the division by n of a cell: s_R of every level is too large
    real = precision_checks.metrology.precision_level

    def wrong(cells):
        found = real(cells)
        (level,) = found.components.levels
        return replace(found, s_reproducibility=math.sqrt(level.mean_square))

    monkeypatch.setattr(precision_checks.metrology, "precision_level", wrong, raising=False)
    assert failed() == {f"PC{i:03d}" for i in range(1, 10)}


def test_parts_and_analysts_in_each_others_place_are_not_accepted(monkeypatch):
    real = precision_checks.metrology.gauge_study
    swapped = lambda values, parts, analysts: real(values, analysts, parts)  # noqa: E731
    monkeypatch.setattr(precision_checks.metrology, "gauge_study", swapped, raising=False)
    precision_checks.study_of.cache_clear()
    try:
        by_id = {row["id"]: row["quantity"] for row in read_table("precision")}
        names = {by_id[one] for one in failed()}
    finally:
        precision_checks.study_of.cache_clear()
    swapped_names = {
        f"{of}: {who}" for of in ("sum of squares", "mean square", "variance") for who in ("part", "analyst")
    }
    assert names == {*swapped_names, "variance: gauge"}
