"""Every row of metrology.csv is a check that holds or is left out with a reason; none is both or neither."""

import pytest

from isohume.outlets.validate import metrology_checks
from isohume.outlets.validate.check import read_table

FOUND = list(metrology_checks.checks())
LEFT = list(metrology_checks.left_out())


@pytest.mark.parametrize("check", FOUND, ids=[check.id for check in FOUND])
def test_holds(check):
    assert check.holds, f"{check.what}: {check.expected} printed, {check.computed} computed, +-{check.tolerance}"


def test_checks_and_rows_left_out_are_all_rows():
    ids = [row["id"] for row in read_table("metrology")]
    assert sorted([*(check.id for check in FOUND), *(left.id for left in LEFT)]) == sorted(ids)


def test_rows_left_out_are_these():
    # memory rows that nothing confirms (H.5 pooled u, three levels of the coal example, CUSUM k and h, a verdict
    # in words), one row of data without a result, one whose input was inferred from its result
    assert {left.id for left in LEFT} == {"Q043", "Q065", "Q066", "Q067", "Q095", "Q097", "Q100", "Q207"}
    assert all(left.reason for left in LEFT)


def test_every_tolerance_is_small_beside_the_value():
    # a check must be able to fail: none allows more than 3 % of the value, but for printed zeros and z scores
    for check in FOUND:
        if isinstance(check.expected, float) and check.expected != 0.0:
            assert check.tolerance <= 0.03 * abs(check.expected), check.id


def test_a_wrong_computation_fails_its_row(monkeypatch):
    # the covariance dropped: u(b(30)) would be 0.0073, which the row must not accept
    real = metrology_checks.metrology.unweighted_line

    class Wrong:
        def __init__(self, line):
            self._line = line

        def __getattr__(self, name):
            return getattr(self._line, name)

        def predict_u(self, x):
            return (self._line.u_offset**2 + (x * self._line.u_slope) ** 2) ** 0.5

    monkeypatch.setattr(metrology_checks.metrology, "unweighted_line", lambda x, y: Wrong(real(x, y)), raising=False)
    failed = [check.id for check in metrology_checks.checks() if not check.holds]
    assert failed == ["Q033"]
