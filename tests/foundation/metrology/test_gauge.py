"""A gauge study against statsmodels; the textbook example stands in published/tables/precision.csv."""

import numpy as np
import pandas as pd
import pytest
from statsmodels.formula.api import ols
from statsmodels.stats.anova import anova_lm

from isohume.foundation.metrology import gauge_study
from isohume.foundation.quantity import InputError
from isohume.outlets.validate.check import read_table
from isohume.outlets.validate.precision_checks import study_of

THERMAL = study_of(next(row["inputs"] for row in read_table("precision") if row["example"].startswith("gauge")))


def made(seed, s_part, s_analyst, s_both, s_e, shape=(6, 4, 3)):
    p, o, _ = shape
    rng = np.random.default_rng(seed)
    y = rng.normal(0, s_part, (p, 1, 1)) + rng.normal(0, s_analyst, (1, o, 1)) + rng.normal(0, s_both, (p, o, 1))
    y = 0.65 + y + rng.normal(0, s_e, shape)
    part, analyst, _ = np.indices(shape)
    return pd.DataFrame({"y": y.ravel(), "part": part.ravel(), "analyst": analyst.ravel()})


def test_the_textbook_says_seven_categories():
    # Montgomery 2009: sqrt(2 x 48.29/1.80) = 7.3
    assert THERMAL.distinct_categories == 7
    assert THERMAL.share(THERMAL.gauge_variance) == pytest.approx(1.80 / (48.29 + 1.80), abs=0.0002)
    assert (THERMAL.parts, THERMAL.analysts, THERMAL.repeats) == (10, 3, 3)
    assert THERMAL.zeroed == ()


@pytest.mark.parametrize("seed", range(3))
def test_table_by_statsmodels(seed):
    data = made(seed, 0.02, 0.003, 0.004, 0.002)
    table = anova_lm(ols("y ~ C(part) * C(analyst)", data).fit())
    found = gauge_study(data.y.tolist(), data.part.tolist(), data.analyst.tolist(), pool_above=None)
    assert [one.sum_of_squares for one in found.sources] == pytest.approx(table.sum_sq.tolist(), rel=1e-8)
    assert [one.dof for one in found.sources] == table.df.tolist()
    # the interaction is tested against the repeatability, as statsmodels tests every line
    assert found.sources[2].p_value == pytest.approx(table["PR(>F)"].iloc[2], rel=1e-6)
    # both factors are random: parts and analysts are tested against the interaction
    ms = table.mean_sq.tolist()
    assert found.sources[0].f == pytest.approx(ms[0] / ms[2], rel=1e-8)


def test_without_interaction_by_statsmodels():
    data = made(11, 0.02, 0.003, 0.0, 0.002)
    table = anova_lm(ols("y ~ C(part) + C(analyst)", data).fit())
    found = gauge_study(data.y.tolist(), data.part.tolist(), data.analyst.tolist(), pool_above=0.0)
    assert found.interaction is None
    assert [one.sum_of_squares for one in found.sources] == pytest.approx(table.sum_sq.tolist(), rel=1e-8)
    assert [one.f for one in found.sources[:2]] == pytest.approx(table["F"].iloc[:2].tolist(), rel=1e-8)


def test_pooled_only_where_the_interaction_does_not_show():
    quiet = made(3, 0.02, 0.003, 0.0, 0.002)
    loud = made(3, 0.02, 0.003, 0.01, 0.002)
    read = [gauge_study(d.y.tolist(), d.part.tolist(), d.analyst.tolist()) for d in (quiet, loud)]
    full = gauge_study(quiet.y.tolist(), quiet.part.tolist(), quiet.analyst.tolist(), pool_above=None)
    assert (read[0].interaction is None) == (full.sources[2].p_value > 0.25)
    assert read[1].interaction is not None


def test_a_negative_component_is_zero_and_says_so():
    # every analyst has the same mean: the analysts' mean square is 0, below the interaction's
    values = [0.60, 0.61, 0.62, 0.63, 0.62, 0.63, 0.60, 0.61]
    found = gauge_study(values, [1, 1, 1, 1, 2, 2, 2, 2], ["a", "a", "b", "b"] * 2, pool_above=None)
    assert found.analyst.raw < 0.0
    assert found.analyst.variance == 0.0
    assert "analyst" in found.zeroed


def test_the_interval_of_the_gauge_holds_the_truth():
    # 600 made studies: the share whose 95 % interval holds the true variance of the gauge
    truth, held = 0.003**2 + 0.002**2 + 0.002**2, 0
    for seed in range(600):
        data = made(seed, 0.02, 0.003, 0.002, 0.002, (6, 4, 2))
        found = gauge_study(data.y.tolist(), data.part.tolist(), data.analyst.tolist(), pool_above=None)
        held += found.gauge.low <= truth <= found.gauge.high
    assert held / 600 == pytest.approx(0.95, abs=0.03)


@pytest.mark.parametrize(
    ("values", "parts", "analysts"),
    [
        ([0.6, 0.61], ["1", "1"], ["a", "b"]),
        ([0.6, 0.61, 0.62], ["1", "1", "2"], ["a", "b", "a"]),
        ([0.6, 0.61, 0.62, 0.6], ["1", "1", "2", "2"], ["a", "b", "a", "b"]),
        ([0.6] * 5, ["1", "1", "2", "2", "2"], ["a", "b", "a", "b", "b"]),
        ([0.6], ["1", "1"], ["a", "b"]),
        ([float("nan")] * 8, [1, 1, 1, 1, 2, 2, 2, 2], ["a", "a", "b", "b"] * 2),
    ],
)
def test_refusals(values, parts, analysts):
    with pytest.raises(InputError):
        gauge_study(values, parts, analysts)


def test_readings_that_are_all_alike():
    found = gauge_study([0.6] * 8, [1, 1, 1, 1, 2, 2, 2, 2], ["a", "a", "b", "b"] * 2)
    assert found.distinct_categories is None
    assert found.share(found.part.variance) == 0.0
