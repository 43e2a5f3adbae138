"""Chart numbers against the printed examples of the NIST/SEMATECH handbook, with pandas as the second opinion."""

import numpy as np
import pandas as pd
import pytest

from isohume.foundation.metrology import cumulative_sums, cusum_chart, ewma_chart, individuals_chart
from isohume.foundation.quantity import InputError

FLOW = [49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1]
SEQUENCE = [52.0, 47.0, 53.0, 49.3, 50.1, 47.0, 51.0, 50.1, 51.2, 50.5, *FLOW]


def test_individuals_chart_of_flow_rates():
    # NIST/SEMATECH e-Handbook 6.3.2.2.2, four decimals
    chart = individuals_chart(FLOW)
    assert chart.mean == pytest.approx(50.81, abs=0.005)
    assert chart.mean_moving_range == pytest.approx(1.8778, abs=0.00005)
    assert (chart.lower, chart.upper) == pytest.approx((45.8159, 55.8041), abs=0.00005)


def test_ewma_limits_and_sequence():
    # NIST/SEMATECH e-Handbook 6.3.2.4
    chart = ewma_chart(SEQUENCE, 50.0, 2.0539, 0.3)
    assert (chart.lower, chart.upper) == pytest.approx((47.4115, 52.5884), abs=0.0001)
    by_pandas = pd.Series([50.0, *SEQUENCE]).ewm(alpha=0.3, adjust=False).mean()
    assert chart.averages == pytest.approx(by_pandas.to_numpy(), rel=1e-12)


def test_cusum_signals_where_the_handbook_does():
    values = [324.925, 324.675, 324.725, 324.350, 325.350, 325.225, 324.125, 324.525, 325.225, 324.600]
    values += [324.625, 325.150, 328.325, 327.250, 327.825, 328.500, 326.675, 327.775, 326.875, 328.350]
    chart = cusum_chart(values, 325.0, 0.3175, 4.1959)
    assert chart.signals[0] == 14
    assert max(chart.low) == pytest.approx(0.715, abs=0.0005)
    mirrored = cusum_chart([650.0 - x for x in values], 325.0, 0.3175, 4.1959)
    assert mirrored.low == pytest.approx(chart.high)


def test_cumulative_sums_are_those_of_numpy():
    assert cumulative_sums(FLOW, 50.0) == pytest.approx(np.cumsum(np.array(FLOW) - 50.0), abs=1e-9)


@pytest.mark.parametrize(
    "call",
    [
        lambda: individuals_chart([1.0]),
        lambda: individuals_chart([1.0, float("nan")]),
        lambda: ewma_chart(FLOW, 50.0, 0.0),
        lambda: ewma_chart(FLOW, 50.0, 1.0, 0.0),
        lambda: ewma_chart(FLOW, 50.0, 1.0, 0.3, -1.0),
        lambda: cusum_chart(FLOW, 50.0, -0.1, 4.0),
        lambda: cusum_chart(FLOW, 50.0, 0.1, 0.0),
        lambda: cumulative_sums([], 50.0),
    ],
)
def test_refuses(call):
    with pytest.raises(InputError):
        call()
