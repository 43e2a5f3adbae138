"""The line specification: what it refuses, and what a fitted line shows."""

from __future__ import annotations

import math

import pytest

from isohume.foundation.quantity.errors import InputError, RangeError
from isohume.outlets.paper.line_spec import LimitMark, LineSpec, Reference, Speaks, ValueMark, Window, fitted

RESULT = ValueMark("mean of 2", 0.6323, "0.6323", half_width=0.0075, half_width_typed="0.0075")
LIMIT = LimitMark(0.65, "<=", "0.650", 0.6438, "0.6438")
FAR = (Reference("MgCl2", 0.3280, 0.3286), Reference("NaCl", 0.7530, 0.7542))


def holds_all(spec: LineSpec) -> bool:
    ends = [RESULT.low, RESULT.high, LIMIT.value, 0.6438]
    return all(spec.window.holds(end) for end in ends)


def test_far_references_go_on_an_overview_and_the_main_line_zooms_to_the_decision() -> None:
    spec = fitted("t", FAR, Speaks(0.328, 0.753), [LIMIT], [RESULT])
    assert holds_all(spec)
    assert spec.window.width < 0.05
    assert spec.overview is not None
    assert all(spec.overview.holds(r.expected) for r in FAR)


def test_near_references_share_one_line_with_the_decision() -> None:
    near = (Reference("a", 0.62, 0.621), Reference("b", 0.66, 0.66))
    spec = fitted("t", near, None, [LIMIT], [RESULT])
    assert holds_all(spec)
    assert spec.overview is None
    assert all(spec.window.holds(r.expected) for r in near)


def test_a_line_of_references_alone_shows_them_all() -> None:
    spec = fitted("t", FAR, Speaks(0.328, 0.753))
    assert spec.overview is None
    assert all(spec.window.holds(r.expected) for r in FAR)


def test_a_single_value_still_gets_a_window_one_can_read() -> None:
    spec = fitted("t", values=[ValueMark("run 1", 0.5, "0.5000", "reading")])
    assert spec.window.width >= 0.02
    assert spec.window.holds(0.5)


def test_nothing_to_draw_is_refused() -> None:
    with pytest.raises(InputError, match="at least one"):
        fitted("t")


@pytest.mark.parametrize("a_w", [65.2, -0.01, 1.3])
def test_a_value_that_is_no_fraction_is_refused(a_w: float) -> None:
    with pytest.raises(RangeError):
        ValueMark("run 1", a_w, str(a_w))
    with pytest.raises(RangeError):
        Reference("NaCl", a_w)
    with pytest.raises(RangeError):
        LimitMark(a_w, "<=", str(a_w))


@pytest.mark.parametrize("bad", [math.nan, math.inf])
def test_a_number_that_is_none_is_refused(bad: float) -> None:
    with pytest.raises(InputError, match="finite"):
        Reference("NaCl", 0.75, bad)
    with pytest.raises(InputError, match="finite"):
        ValueMark("run 1", 0.5, "0.5", half_width=bad)
    with pytest.raises(InputError, match="finite"):
        Window(0.1, bad)


def test_reversed_ends_a_negative_interval_and_an_unknown_operator_are_refused() -> None:
    with pytest.raises(InputError):
        Window(0.6, 0.5)
    with pytest.raises(InputError):
        Speaks(0.6, 0.5)
    with pytest.raises(InputError):
        ValueMark("run 1", 0.5, "0.5", half_width=-0.1)
    with pytest.raises(InputError, match="one of"):
        LimitMark(0.6, "=", "0.6")  # type: ignore[arg-type]


def test_a_reading_that_does_not_count_never_widens_the_window() -> None:
    apart = ValueMark("run 51", 0.29, "0.2900", "not used")
    with_it = fitted("t", limits=[LIMIT], values=[RESULT, apart])
    assert with_it.window == fitted("t", limits=[LIMIT], values=[RESULT]).window
