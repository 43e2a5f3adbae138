"""Every row of water.csv is a check that holds, or is left out with a reason; none is counted twice."""

from collections import Counter

import pytest

from isohume.outlets.validate.check import read_table
from isohume.outlets.validate.water_checks import FILE, FORMULATIONS_APART, checks, left_out

CHECKS, LEFT = list(checks()), list(left_out())


@pytest.mark.parametrize("check", CHECKS, ids=[check.id for check in CHECKS])
def test_check_holds(check):
    assert check.holds, f"{check.what}: expected {check.expected}, computed {check.computed}"
    assert check.tolerance > 0
    assert check.file == FILE


def test_every_row_is_named_once():
    named = Counter([check.id for check in CHECKS] + [left.id for left in LEFT])
    assert named == Counter(row["id"] for row in read_table(FILE))


def test_counts_and_reasons():
    # of 135 rows only the 15 of the Hyland-Wexler equation, which isohume does not implement, are left out
    assert (len(CHECKS), len(LEFT)) == (120, 15)
    assert all("Hyland-Wexler" in left.reason for left in LEFT)


def test_expected_values_are_the_printed_ones():
    printed = {row["id"]: row for row in read_table(FILE)}
    for check in CHECKS:
        if not printed[check.id]["source"].startswith("Magnus"):
            assert check.expected == float(printed[check.id]["value"])
        assert (check.source, check.how) == (printed[check.id]["source"], printed[check.id]["how"])


def test_the_formulations_differ_in_the_table_by_what_the_tolerance_says():
    pressures: dict[str, dict[str, float]] = {}
    for row in read_table(FILE):
        if row["kind"] == "p_sat_water":
            pressures.setdefault(row["source"].split()[0], {})[row["t_C"]] = float(row["value"])
    apart = max(abs(p / pressures["IAPWS-95"][t] - 1) for t, p in pressures["Wagner"].items())
    assert pytest.approx(apart, abs=5e-7) == FORMULATIONS_APART
