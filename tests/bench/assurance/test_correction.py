"""Corrections: lines of ISO/TS 28037 and the GUM, uncertainty against Monte Carlo, caps, range, walk."""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from decimal import Decimal

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from isohume.bench.assurance import CheckReading, judge_check
from isohume.bench.assurance.correction import (
    DEFAULT_CAPS,
    Correction,
    Move,
    ReadReference,
    against_correction,
    cumulative_walk,
    fit_correction,
    make_correction,
    references_of,
)
from isohume.foundation.quantity import InputError, RangeError

NOW = datetime(2026, 9, 16, 9, 0, tzinfo=UTC)
# plant A's Wednesday: OW-1 reads Mg(NO3)2 low by 0.009 and NaCl low by 0.012
LOW = (ReadReference("Mg(NO3)2", 0.5199, 0.0015, 0.5289, 0.0011), ReadReference("NaCl", 0.7409, 0.0015, 0.7529, 0.0006))


def points(
    x: tuple[float, ...], y: tuple[float, ...], u_x: tuple[float, ...], u_y: tuple[float, ...]
) -> list[ReadReference]:
    """References with those readings and values."""
    return [ReadReference(f"P{i}", *one) for i, one in enumerate(zip(x, u_x, y, u_y, strict=True))]


def correction(*references: ReadReference) -> Correction:
    """Version 1 through those references, from now on."""
    return make_correction(fit_correction(references), "OW-1", "1", NOW, "check 12")


@pytest.mark.parametrize(
    ("x", "y", "u_x", "u_y", "a", "u_a", "b", "u_b", "covariance"),
    [
        # ISO/TS 28037:2010, 6.3, page 13: equal weights; a, b, u and covariance to the printed digit
        (
            (1, 2, 3, 4, 5, 6),
            (3.3, 5.6, 7.1, 9.3, 10.7, 12.1),
            (0,) * 6,
            (0.5,) * 6,
            "1.867",
            "0.465",
            "1.757",
            "0.120",
            "-0.050",
        ),
        # 6.3, page 15: unequal weights, chi-squared 4.131 with 4 degrees of freedom
        (
            (1, 2, 3, 4, 5, 6),
            (3.2, 4.3, 7.6, 8.6, 11.7, 12.8),
            (0,) * 6,
            (0.5,) * 3 + (1.0,) * 3,
            "0.885",
            "0.530",
            "2.057",
            "0.178",
            "-0.082",
        ),
        # 7.4, page 21: uncertainty in both coordinates
        (
            (1.2, 1.9, 2.9, 4.0, 4.7, 5.9),
            (3.4, 4.4, 7.2, 8.5, 10.8, 13.5),
            (0.2,) * 6,
            (0.2,) * 3 + (0.4,) * 3,
            "0.5788",
            "0.4764",
            "2.1597",
            "0.1355",
            "-0.0577",
        ),
    ],
    ids=["equal weights", "unequal weights", "errors in both"],
)
def test_lines_of_iso_ts_28037(
    x: tuple[float, ...],
    y: tuple[float, ...],
    u_x: tuple[float, ...],
    u_y: tuple[float, ...],
    a: str,
    u_a: str,
    b: str,
    u_b: str,
    covariance: str,
) -> None:
    fitted = fit_correction(points(x, y, u_x, u_y))
    line, by = fitted.line, fitted.widened  # the standard does not widen by the scatter; we do where it is above 1
    for found, printed in (
        (line.offset, a),
        (line.u_offset / by, u_a),
        (line.slope, b),
        (line.u_slope / by, u_b),
        (line.covariance / by**2, covariance),
    ):
        assert found == pytest.approx(float(printed), abs=0.51 * 10.0 ** -len(printed.partition(".")[2])), printed


def test_the_line_is_widened_by_the_scatter_that_iso_ts_28037_prints() -> None:
    fitted = fit_correction(
        points((1, 2, 3, 4, 5, 6), (3.2, 4.3, 7.6, 8.6, 11.7, 12.8), (0,) * 6, (0.5,) * 3 + (1.0,) * 3)
    )
    assert fitted.widened**2 == pytest.approx(4.131 / 4, abs=0.0002)  # page 15, chi-squared over its degrees of freedom
    less = fit_correction(points((1, 2, 3, 4, 5, 6), (3.3, 5.6, 7.1, 9.3, 10.7, 12.1), (0,) * 6, (0.5,) * 6))
    assert less.widened == 1  # page 13: chi-squared 1.665 is below 4, and narrows nothing


def test_the_thermometer_of_the_gum_is_corrected_with_its_uncertainty() -> None:
    """JCGM 100:2008, H.3.4: the correction b(30) = -0.1494 degC, u 0.0041; covariance from r = -0.930."""
    y1, u1, y2, u2, r = -0.1712, 0.0029, 0.00218, 0.00067, -0.930
    u_offset = math.sqrt(u1**2 + (20 * u2) ** 2 - 2 * 20 * r * u1 * u2)
    covariance = r * u1 * u2 - 20 * u2**2
    thermometer = Correction(
        "thermometer",
        "1",
        Decimal(repr(y1 - 20 * y2)),
        1 + Decimal(repr(y2)),
        u_offset,
        u2,
        covariance,
        Decimal(20),
        Decimal(30),
        NOW,
        "H.3",
    )
    assert float(thermometer.corrected(Decimal(30))) - 30 == pytest.approx(-0.1494, abs=0.00005)
    assert thermometer.u_line(30.0) == pytest.approx(0.0041, abs=0.00005)


def test_forward_evaluation_of_iso_ts_28037() -> None:
    """11.2, example: y at x = 3.5 with u 0.2 is 8.017 with u 0.406, as a public library quotes it."""
    line = fit_correction(points((1, 2, 3, 4, 5, 6), (3.3, 5.6, 7.1, 9.3, 10.7, 12.1), (0,) * 6, (0.5,) * 6)).line
    found = Correction(
        "x",
        "1",
        Decimal(repr(line.offset)),
        Decimal(repr(line.slope)),
        line.u_offset,
        line.u_slope,
        line.covariance,
        Decimal(1),
        Decimal(6),
        NOW,
        "",
    )
    assert float(found.corrected(Decimal("3.5"))) == pytest.approx(8.017, abs=0.0005)
    assert found.u_corrected(3.5, 0.2) == pytest.approx(0.406, abs=0.0005)


FOUR = (
    ReadReference("LiCl", 0.1150, 0.0018, 0.1130, 0.0014),
    ReadReference("MgCl2", 0.3261, 0.0018, 0.3278, 0.0008),
    ReadReference("Mg(NO3)2", 0.5244, 0.0018, 0.5289, 0.0011),
    ReadReference("NaCl", 0.7461, 0.0018, 0.7529, 0.0006),
)


@pytest.mark.parametrize("references", [LOW, FOUR], ids=["two", "four"])
def test_u_of_a_corrected_reading_against_monte_carlo(references: tuple[ReadReference, ...]) -> None:
    """JCGM 101: references and readings are drawn, the line is found again by least squares, a reading is corrected."""
    rng, trials = np.random.default_rng(20260916), 200_000
    read = np.array([[r.read, r.u_read] for r in references])
    expected = np.array([[r.expected, r.u_expected] for r in references])
    x = rng.normal(read[:, 0], read[:, 1], (trials, len(references)))
    y = rng.normal(expected[:, 0], expected[:, 1], (trials, len(references)))
    w = 1 / (read[:, 1] ** 2 + expected[:, 1] ** 2)
    x_mean, y_mean = (x * w).sum(1) / w.sum(), (y * w).sum(1) / w.sum()
    dx = x - x_mean[:, None]
    slope = (w * dx * (y - y_mean[:, None])).sum(1) / (w * dx**2).sum(1)
    r, u_r = 0.640, 0.0025
    corrected = y_mean + slope * (rng.normal(r, u_r, trials) - x_mean)
    fitted = fit_correction(references)
    found = make_correction(fitted, "OW-1", "1", NOW, "")
    assert float(found.corrected(Decimal("0.640"))) == pytest.approx(corrected.mean(), abs=0.0003)
    known = math.hypot(found.u_line(r) / fitted.widened, float(found.slope) * u_r)
    assert known == pytest.approx(corrected.std(), rel=0.02)
    assert math.hypot(u_r, found.u_added(r, u_r)) == pytest.approx(found.u_corrected(r, u_r), rel=1e-9)


def test_plant_a_by_hand() -> None:
    """Job, 4.2: b1 = (0.7529 - 0.5289)/(0.7409 - 0.5199) = 1.013575, b0 = 0.5289 - b1 0.5199 = 0.001942."""
    found = correction(*LOW)
    assert float(found.slope) == pytest.approx(0.2240 / 0.2210, abs=1e-7)
    assert float(found.offset) == pytest.approx(0.5289 - 0.2240 / 0.2210 * 0.5199, abs=1e-7)
    assert float(found.corrected(Decimal("0.642"))) == pytest.approx(0.653, abs=0.0005)  # job, 8: 0.642 -> 0.653
    assert float(found.corrected(Decimal("0.645"))) == pytest.approx(0.656, abs=0.0005)  # and 0.645 -> 0.656


@pytest.mark.parametrize("read", ["0.5198", "0.7410", "0.2", "0.95"])
def test_nothing_is_carried_beyond_the_references(read: str) -> None:
    found = correction(*LOW)
    assert not found.holds_for(Decimal(read))
    with pytest.raises(RangeError, match="never extrapolated"):
        found.corrected(Decimal(read))


values = st.floats(0.1, 0.9)


@settings(derandomize=True, max_examples=60)
@given(st.lists(values, min_size=2, max_size=5, unique_by=lambda v: round(v, 2)), st.data())
def test_references_that_read_right_change_nothing(true: list[float], data: st.DataObject) -> None:
    found = correction(*(ReadReference(str(v), v, 0.0015, v, 0.001) for v in true))
    inside = st.decimals(min(map(str, true)), max(map(str, true)), places=4).filter(found.holds_for)
    read = data.draw(inside)
    assert abs(found.corrected(read) - read) <= Decimal("0.0000002")


@settings(derandomize=True, max_examples=60)
@given(
    st.tuples(st.floats(-0.01, 0.01), st.floats(-0.01, 0.01)),
    st.decimals("0.53", "0.74", places=4),
    st.decimals("0.53", "0.74", places=4),
)
def test_a_wetter_reading_stays_the_wetter_one(off: tuple[float, float], one: Decimal, other: Decimal) -> None:
    found = correction(
        ReadReference("Mg(NO3)2", 0.52, 0.0015, 0.52 + off[0], 0.001),
        ReadReference("NaCl", 0.75, 0.0015, 0.75 + off[1], 0.001),
    )
    assert (found.corrected(one) < found.corrected(other)) == (one < other)
    assert found.u_line(float(one)) >= 0


def test_references_come_from_a_check_with_their_own_u() -> None:
    read = [CheckReading("NaCl", None, 25.0, 0.7409), CheckReading("Mg(NO3)2", None, 25.0, 0.5199)]
    check = judge_check(read, 0.005, 0.0015)
    low, high = references_of(check)
    assert (low.name, high.name) == ("Mg(NO3)2", "NaCl")
    assert low.u_read == pytest.approx(0.0015, rel=1e-9)
    # Greenspan 1977: Mg(NO3)2 52.89 +- 0.22 %, NaCl 75.29 +- 0.12 % at 25 degC, taken as k = 2
    assert (low.u_expected, high.u_expected) == pytest.approx((0.0011, 0.0006), abs=1e-6)
    assert (low.expected, high.expected) == pytest.approx((0.5289, 0.7529), abs=0.0001)


def test_a_line_needs_two_references() -> None:
    with pytest.raises(InputError, match="at least two"):
        fit_correction(LOW[:1])
    with pytest.raises(InputError, match="standard uncertainty above zero"):
        fit_correction([ReadReference("a", 0.3, 0.0, 0.3, 0.0), LOW[1]])


@pytest.mark.parametrize(
    ("references", "walked", "says"),
    [
        (LOW, 0.0111, ""),
        ((LOW[0], ReadReference("NaCl", 0.7229, 0.0015, 0.7529, 0.0006)), 0.01, "slope"),
        (
            (ReadReference("a", 0.50, 0.0015, 0.525, 0.001), ReadReference("b", 0.70, 0.0015, 0.725, 0.001)),
            0.01,
            "offset",
        ),
        ((*LOW, ReadReference("bent", 0.63, 0.0015, 0.66, 0.0006)), 0.01, "off the line"),
        (LOW, 0.021, "walk"),
        (tuple(replace(r, read=r.expected - 0.0010) for r in LOW), 0.001, "nothing to correct"),
        (LOW, -0.021, "walk"),
    ],
)
def test_caps_refuse(references: tuple[ReadReference, ...], walked: float, says: str) -> None:
    against = against_correction(fit_correction(references), DEFAULT_CAPS, 0.005, walked)
    assert bool(against) == bool(says)
    assert says in " ".join(against)


def move(hours: int, low: float, high: float, anew: bool = False) -> Move:
    """A change of scale at 0.53 and 0.75."""
    return Move(NOW + timedelta(hours=hours), "correction", 0.53, low, 0.75, high, anew)


def test_corrections_that_walk_one_way_add_up() -> None:
    """Three of +0.004 come to +0.012: each within what one may move, together they hide something."""
    found = cumulative_walk([move(2, 0.003, 0.004), move(0, 0.003, 0.004), move(1, 0.003, 0.004)])
    assert [one.total for one in found] == pytest.approx([0.004, 0.008, 0.012])
    assert [one.move.at for one in found] == sorted(one.move.at for one in found)


def test_a_correction_taken_back_walks_nowhere_and_service_begins_anew() -> None:
    assert [w.total for w in cumulative_walk([move(0, 0.003, 0.004), move(1, -0.003, -0.004)])] == pytest.approx(
        [0.004, 0]
    )
    served = cumulative_walk([move(0, 0.01, 0.01), move(1, 0.005, 0.005, anew=True), move(2, 0.003, -0.004)])
    assert [one.total for one in served] == pytest.approx([0.01, 0, -0.004])


def test_a_move_is_not_carried_beyond_its_references() -> None:
    assert [move(0, 0.002, 0.004).shift_at(a) for a in (0.1, 0.53, 0.64, 0.75, 0.95)] == pytest.approx(
        [0.002, 0.002, 0.003, 0.004, 0.004]
    )
