"""A check on reference solutions: the worked example of the command line, E_n and limit both, groups, refusals."""

from __future__ import annotations

import pytest

from isohume.bench.assurance import Check, CheckReading, judge_check
from isohume.foundation.quantity import InputError


def reading(solution: str, a_w: float, temperature_c: float = 25.0, molality: float | None = None) -> CheckReading:
    """A reading without a time."""
    return CheckReading(solution, molality, temperature_c, a_w)


@pytest.fixture
def worked() -> Check:
    """The worked example of the command line's contract."""
    return judge_check(
        [
            reading("MgCl2", 0.3290, 24.8),
            reading("MgCl2", 0.3282, 24.9),
            reading("NaCl", 0.7538, 25.1),
            reading("NaCl", 0.7546, 25.0),
        ]
    )


def test_worked_example_solutions(worked: Check) -> None:
    magnesium, sodium = worked.solutions
    # printed in the contract; one unit of the last printed digit
    assert magnesium.expected == pytest.approx(0.3279742, abs=1e-7)
    assert magnesium.deviation == pytest.approx(0.0006258, abs=1e-7)
    assert magnesium.u_deviation == pytest.approx(0.0017410, abs=1e-7)
    assert magnesium.e_n == pytest.approx(0.1797, abs=1e-4)
    assert sodium.expected == pytest.approx(0.7529611, abs=1e-7)
    assert sodium.deviation == pytest.approx(0.0012389, abs=1e-7)
    assert sodium.u_deviation == pytest.approx(0.0016595, abs=1e-7)
    assert sodium.e_n == pytest.approx(0.3733, abs=1e-4)
    assert (magnesium.temperature_c, sodium.temperature_c) == (pytest.approx(24.85), pytest.approx(25.05))


def test_worked_example_line(worked: Check) -> None:
    line = worked.line
    assert line is not None
    assert line.offset == pytest.approx(0.0001526, abs=1e-7)
    assert line.slope == pytest.approx(1.0014427, abs=1e-7)
    assert line.u_offset == pytest.approx(0.0033398, abs=1e-7)
    assert line.u_slope == pytest.approx(0.0056594, abs=1e-7)
    assert line.covariance == pytest.approx(-1.76365e-05, abs=1e-10)
    assert worked.covers_a_w == (pytest.approx(0.3279742, abs=1e-7), pytest.approx(0.7529611, abs=1e-7))
    assert (worked.verdict, worked.reasons) == ("pass", ())


def test_e_n_alone_does_not_pass_a_large_deviation() -> None:
    """A claimed u of 0.05 makes E_n small; the laboratory's own limit still fails 0.012."""
    found = judge_check([reading("NaCl", 0.741)], u_instrument=0.05)
    assert abs(found.solutions[0].e_n) < 1
    assert found.verdict == "fail"
    assert "reads low" in found.reasons[0]
    assert "limit" in found.reasons[0]


def test_the_limit_alone_does_not_pass_a_large_e_n() -> None:
    found = judge_check([reading("NaCl", 0.7573)], limit=0.005, u_instrument=0.0001)
    assert abs(found.solutions[0].deviation) < 0.005
    assert found.solutions[0].e_n > 1
    assert found.verdict == "fail"


def test_a_deviation_equal_to_the_limit_is_within() -> None:
    """Expected NaCl at 25 degC is 0.7529775; a reading 0.005 above it stands at the limit, dust or not."""
    expected = judge_check([reading("NaCl", 0.75)]).solutions[0].expected
    assert judge_check([reading("NaCl", round(expected, 12) + 0.005)], u_instrument=0.004).verdict == "pass"
    assert judge_check([reading("NaCl", expected + 0.00501)], u_instrument=0.004).verdict == "fail"


def test_one_solution_covers_no_range_and_has_no_line() -> None:
    found = judge_check([reading("NaCl", 0.7532)])
    assert found.covers_a_w is None
    assert found.line is None
    assert found.as_json()["offset"] is None
    assert found.verdict == "pass"


def test_only_passed_solutions_cover() -> None:
    found = judge_check([reading("LiCl", 0.113), reading("MgCl2", 0.328), reading("NaCl", 0.741)])
    assert found.verdict == "fail"
    assert found.covers_a_w == (pytest.approx(0.1130, abs=2e-4), pytest.approx(0.3279, abs=2e-4))


def test_molalities_are_their_own_groups() -> None:
    found = judge_check(
        [reading("NaCl", 0.8515, molality=4.0), reading("NaCl", 0.7530), reading("NaCl", 0.9669, molality=1.0)]
    )
    assert [s.molality for s in found.solutions] == [4.0, None, 1.0]


def test_names_of_one_solution_are_one_group() -> None:
    assert len(judge_check([reading("NaCl", 0.753), reading("sodium chloride", 0.7535)]).solutions) == 1


def test_unknown_solutions_name_the_row() -> None:
    with pytest.raises(InputError, match=r"row 7: solution: read 'NaCl3'"):
        judge_check([CheckReading("NaCl3", None, 25.0, 0.75, row=7)])


def test_a_temperature_without_a_published_uncertainty_is_refused() -> None:
    with pytest.raises(InputError, match="uncertainty of NaCl"):
        judge_check([reading("NaCl", 0.75, 59.0)])


@pytest.mark.parametrize("limit", [0.0, -0.005, float("nan"), float("inf")])
def test_a_meaningless_limit_is_refused(limit: float) -> None:
    with pytest.raises(InputError, match="limit"):
        judge_check([reading("NaCl", 0.753)], limit=limit)


def test_no_readings_are_refused() -> None:
    with pytest.raises(InputError, match="at least one reading"):
        judge_check([])
