"""Charts point by point: the handbook's examples, exact limits, phases; charts.py as second opinion."""

import math

import numpy as np
import pytest

from isohume.foundation.metrology import ChartRules, control_chart, cusum_chart, ewma_chart, individuals_chart
from isohume.foundation.quantity import InputError

FLOW = [49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1]
SEQUENCE = [52.0, 47.0, 53.0, 49.3, 50.1, 47.0, 51.0, 50.1, 51.2, 50.5, *FLOW]
SHEET = [324.925, 324.675, 324.725, 324.350, 325.350, 325.225, 324.125, 324.525, 325.225, 324.600]
SHEET += [324.625, 325.150, 328.325, 327.250, 327.825, 328.500, 326.675, 327.775, 326.875, 328.350]
EIGHT = [0.7510, 0.7490] * 6 + [0.7505] * 8
"""Twelve values about 0.75, then eight a quarter of a thousandth and more above it."""


def test_individuals_of_flow_rates_have_the_printed_limits_at_every_point():
    # NIST/SEMATECH e-Handbook 6.3.2.2.2
    chart = control_chart(FLOW)
    assert chart.center == pytest.approx(50.81, abs=0.005)
    assert chart.limits == tuple([(pytest.approx(45.8159, abs=0.00005), pytest.approx(55.8041, abs=0.00005))] * 10)
    assert chart.statistic == tuple(FLOW)
    assert chart.signals == ()


def test_the_moving_range_has_the_limit_of_the_factors():
    # 3.267 times the mean moving range 1.8778 of the same example (ISO 7870-2)
    (phase,) = control_chart(FLOW).phases
    assert phase.range_limit == pytest.approx(3.267 * 1.87778, abs=0.0005)
    chart = control_chart([*FLOW, 40.0], ChartRules(baseline=10))
    assert chart.ranges[0] is None
    assert [signal.index for signal in chart.range_signals] == [10]
    assert chart.range_signals[0].side == -1


def test_weighted_average_is_the_handbooks_and_its_limits_end_there():
    # NIST/SEMATECH e-Handbook 6.3.2.4: centre 50, s 2.0539, weight 0.3, 3 sigma; 20 averages printed to 0.01
    rules = ChartRules(kind="ewma", weight=0.3, width=3.0)
    chart = control_chart(SEQUENCE, rules, center=50.0, sigma=2.0539)
    printed = "50.60 49.52 50.56 50.18 50.16 49.21 49.75 49.85 50.26 50.33 50.11 49.36 49.52 50.05 49.38 49.92 50.73"
    printed += " 51.23 51.94 51.99"
    assert chart.statistic == pytest.approx([float(one) for one in printed.split()], abs=0.01)
    assert chart.limits[-1] == pytest.approx((47.4115, 52.5884), abs=0.002)
    assert chart.signals == ()
    assert ewma_chart(SEQUENCE, 50.0, 2.0539, 0.3).averages[1:] == pytest.approx(chart.statistic)


def test_limits_of_the_weighted_average_follow_its_own_scatter():
    # the scatter of the n-th average over many independent series, not the formula again
    rules = ChartRules(kind="ewma")
    limits = control_chart([0.1, -0.1] * 5, rules, center=0.0, sigma=1.0).limits
    noise = np.random.default_rng(7).standard_normal((200_000, 10))
    average = np.zeros(len(noise))
    for point in range(10):
        average = 0.2 * noise[:, point] + 0.8 * average
        assert limits[point][1] == pytest.approx(2.86 * average.std(), rel=0.006)


def test_cumulative_sums_signal_where_the_handbook_does():
    # NIST/SEMATECH e-Handbook 6.3.2.3: k 0.3175 and h 4.1959 in the unit of the values; first signal at the 14th
    rules = ChartRules(kind="cusum", k=0.3175, h=4.1959)
    chart = control_chart(SHEET, rules, center=325.0, sigma=1.0)
    assert chart.signals[0].index == 13
    assert chart.signals[0].first == 12
    assert chart.statistic[13] == pytest.approx(4.9400, abs=0.00005)
    printed = cusum_chart(SHEET, 325.0, 0.3175, 4.1959)
    assert chart.high == pytest.approx(printed.high)
    assert chart.low == pytest.approx(printed.low)
    assert [signal.index + 1 for signal in chart.signals] == list(printed.signals)


def test_eight_in_a_row_are_flagged_on_the_eighth_point():
    # job description 6, row 24
    chart = control_chart(EIGHT, ChartRules(baseline=12, rules=("8 on one side",)))
    assert [(s.index, s.rule, s.first, s.side) for s in chart.signals] == [(19, "8 on one side", 12, 1)]
    assert control_chart(EIGHT[:-1], ChartRules(baseline=12)).signals == ()


def test_centre_and_sigma_come_from_the_baseline_alone():
    chart = control_chart([*FLOW, 100.0, 1.0], ChartRules(baseline=10))
    alone = individuals_chart(FLOW)
    assert (chart.center, chart.sigma) == (pytest.approx(alone.mean), pytest.approx(alone.sigma))
    assert [(s.index, s.rule) for s in chart.signals if s.rule == "beyond 3 sigma"] == [
        (10, "beyond 3 sigma"),
        (11, "beyond 3 sigma"),
    ]


def test_a_step_at_a_dated_event_is_a_new_phase_and_no_signal():
    # F19: after service the mean has moved by 5 sigma; one phase signals, two do not
    after = [value + 8.3 for value in FLOW]
    one = control_chart([*FLOW, *after], ChartRules(baseline=10))
    two = control_chart([*FLOW, *after], ChartRules(baseline=10), breaks=[10])
    assert one.signals
    assert two.signals == ()
    assert [(p.start, p.end) for p in two.phases] == [(0, 10), (10, 20)]
    assert two.phases[1].center - two.phases[0].center == pytest.approx(8.3)
    assert two.ranges[10] is None


def test_a_run_does_not_reach_over_a_break():
    values = [0.7510, 0.7490] * 6 + [0.7505] * 4
    whole = control_chart(values + [0.7505] * 4, ChartRules(baseline=12, rules=("8 on one side",)))
    rules = ChartRules(baseline=12, rules=("8 on one side",))
    broken = control_chart(values + [0.7505] * 4, rules, breaks=[16], center=0.75, sigma=0.001)
    assert len(whole.signals) == 1
    assert broken.signals == ()


def test_phases_may_share_one_sigma():
    wide = [10.0 * value for value in FLOW]
    own = control_chart([*FLOW, *wide], breaks=[10])
    common = control_chart([*FLOW, *wide], ChartRules(common_sigma=True), breaks=[10])
    assert own.phases[1].sigma == pytest.approx(10 * own.phases[0].sigma)
    assert common.phases[0].sigma == pytest.approx(common.phases[1].sigma)
    assert common.phases[0].sigma == pytest.approx(math.fsum(p.sigma for p in own.phases) / 2)


@pytest.mark.parametrize(
    ("values", "rules", "breaks", "field"),
    [
        ([], None, (), "values"),
        ([1.0], None, (), "values"),
        ([1.0, math.nan], None, (), "values"),
        ([1.0, math.inf], None, (), "values"),
        ([0.75, 0.75, 0.75], None, (), "values"),
        ([1.0, 2.0, 3.0], None, (2,), "values"),
    ],
)
def test_refuses_values(values, rules, breaks, field):
    with pytest.raises(InputError) as refused:
        control_chart(values, rules, breaks=breaks)
    assert refused.value.field == field


@pytest.mark.parametrize(
    ("given", "field"),
    [
        ({"kind": "x-bar"}, "kind"),
        ({"baseline": 1}, "baseline"),
        ({"weight": 0.0}, "lambda"),
        ({"weight": 1.1}, "lambda"),
        ({"width": math.inf}, "width"),
        ({"h": 0.0}, "h"),
        ({"k": -0.1}, "k"),
        ({"rules": ("9 on one side",)}, "rules"),
    ],
)
def test_refuses_rules(given, field):
    with pytest.raises(InputError) as refused:
        ChartRules(**given)
    assert refused.value.field == field


def test_a_point_on_a_limit_says_nothing_on_any_chart():
    # decimals as typed: 0.5 sigma a point add up to 5 sigma exactly, a step of 3.267 x 1.128 sigma lies on the limit
    sums = control_chart([0.751] * 12, ChartRules(kind="cusum"), center=0.750, sigma=0.001)
    assert [signal.index for signal in sums.signals] == [10, 11]
    steps = [0.0, 3.267 * 1.128 * 0.001]
    for n in range(40):
        moved = control_chart([0.7 + 0.001 * n + step for step in steps], center=0.7, sigma=0.001)
        assert moved.range_signals == ()
    first = control_chart([0.750 + 2.86 * 0.001, 0.750], ChartRules(kind="ewma"), center=0.750, sigma=0.001)
    assert first.signals == ()
