"""Every row of the two tables of solutions is a check that holds or is left out with a reason."""

import pytest

from isohume.outlets.validate.check import read_table
from isohume.outlets.validate.solutions_checks import checks, left_out

FILES = ("saturated_salts.csv", "unsaturated_solutions.csv")


@pytest.mark.parametrize("file", FILES)
def test_every_row_is_named_once(file):
    rows = [row["id"] for row in read_table(file)]
    named = [c.id for c in checks() if c.file == file] + [row.id for row in left_out() if row.file == file]
    assert sorted(named) == sorted(rows)


@pytest.mark.parametrize("check", checks(), ids=lambda c: c.id)
def test_every_check_holds(check):
    assert check.holds, f"{check.what}: expected {check.expected}, computed {check.computed}"
    assert check.tolerance > 0


def test_counts():
    found = checks()
    assert [sum(c.file == file for c in found) for file in FILES] == [191, 82]
    assert [sum(row.file == file for row in left_out()) for file in FILES] == [51, 15]


def test_every_row_left_out_has_a_reason():
    assert all(len(row.reason) > 10 and "no rule" not in row.reason for row in left_out())


def test_a_sign_error_would_be_caught():
    # LiCl with A1 turned to minus, as two public transcriptions have it: 10.89 at 25 degC
    row = next(c for c in checks() if c.what.startswith("saturated LiCl, 20 degC: a_w (the table"))
    assert abs(row.expected - (11.2323 - 0.00824245 * 20 - 0.00021489 * 400) / 100) > row.tolerance


def test_a_misprint_would_be_caught():
    for row in (c for c in checks() if "misprint" in c.what):
        assert abs(row.expected - float(row.what.split()[-1])) > row.tolerance
