"""Variance components: GUM H.5, measured interlaboratory data with unequal numbers, statsmodels as the oracle.

The independent route for unequal numbers: sums of squares from least-squares fits of statsmodels, and their
expectations by brute force. A sum of squares is a quadratic form y'Qy, so what a component adds to its
expectation is the sum of the same sum of squares over the component's indicator columns in place of the data.
"""

import csv
import math
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from statsmodels.formula.api import mixedlm, ols

from isohume.foundation.metrology import components_from_summaries, nested_components
from isohume.foundation.quantity import InputError

CARBON = Path(__file__).parent / "data" / "carbon_interlaboratory.csv"
# JCGM 100:2008, table H.9: day means (10 V + uV) and standard deviations of five readings
DAY_MEANS = [172, 116, 13, 144, 106, 31, 60, 125, 163, 41]
DAY_S = [60, 77, 111, 101, 67, 93, 80, 73, 88, 86]


def test_voltage_standard_of_the_gum():
    found = components_from_summaries(DAY_MEANS, DAY_S, [5] * 10, "day")
    (day,) = found.levels
    # H.5.2.2 to H.5.2.5: s_a 128, s_b 85, s_B 43, u 18 uV (pooled 13 uV); F limits 2.12 and 2.45
    assert found.grand_mean == pytest.approx(97.0, abs=0.5)
    assert math.sqrt(day.mean_square) == pytest.approx(128.0, abs=0.5)
    assert found.s_r == pytest.approx(85.0, abs=0.5)
    assert math.sqrt(day.variance) == pytest.approx(43.0, abs=0.5)
    assert found.u_mean == pytest.approx(18.0, abs=0.5)
    assert found.u_mean_pooled == pytest.approx(13.0, abs=0.5)
    assert (day.dof, found.residual_dof) == (9, 40)
    assert found.f_critical(0.95) == pytest.approx(2.12, abs=0.005)
    assert found.f_critical(0.975) == pytest.approx(2.45, abs=0.005)


def carbon_points():
    with CARBON.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def carbon_at(a_w):
    """Water on every laboratory's aliquots at one a_w, interpolated between the measured neighbours."""
    curves = {}
    for row in carbon_points():
        point = (float(row["a_w"]), float(row["water_mmol_g"]))
        curves.setdefault((row["laboratory"], row["aliquot"]), []).append(point)
    values, labels = [], []
    for place, points in sorted(curves.items()):
        x, y = zip(*sorted(points), strict=True)
        if x[0] <= a_w <= x[-1]:
            values.append(float(np.interp(a_w, x, y)))
            labels.append(place)
    return values, labels


def sequential(frame, y):
    """Sums of squares and degrees of freedom of the nested levels and the residual, by statsmodels.

    Each level's sum of squares is what its model leaves less than the model of the level above.
    """
    fits = [ols("y ~ 1", frame.assign(y=y)).fit()]
    fits += [ols(f"y ~ C({level})", frame.assign(y=y)).fit() for level in frame.columns]
    left = np.array([*(fit.ssr for fit in fits), 0.0])
    free = np.array([*(fit.df_resid for fit in fits), 0.0])
    return left[:-1] - left[1:], free[:-1] - free[1:]


def by_brute_force(values, labels):
    """The variance components by the route of the module's docstring (the residual's last) and coefficients."""
    depth = len(labels[0])
    paths = [["/".join(path[: level + 1]) for path in labels] for level in range(depth)]
    frame = pd.DataFrame({f"level{i}": path for i, path in enumerate(paths)})
    sums, dofs = sequential(frame, values)
    expected = np.zeros((depth + 1, depth + 1))
    for r, path in enumerate(paths):
        for group in sorted(set(path)):
            expected[:, r] += sequential(frame, [float(one == group) for one in path])[0]
    expected[:, depth] = dofs
    return np.linalg.solve(expected, sums), expected / dofs[:, None]


def test_laboratories_with_unequal_numbers_of_aliquots():
    # at a_w 0.85 one laboratory has a single aliquot (the other stopped at 0.829): 13 values of 7 laboratories
    values, labels = carbon_at(0.85)
    laboratories = [(laboratory,) for laboratory, _ in labels]
    assert sorted(laboratories.count(one) for one in set(laboratories)) == [1, 2, 2, 2, 2, 2, 2]
    found = nested_components(values, laboratories, ["laboratory"])
    (laboratory,) = found.levels
    components, coefficients = by_brute_force(values, laboratories)
    assert laboratory.raw == pytest.approx(components[0], rel=1e-9)
    assert found.s_r**2 == pytest.approx(components[1], rel=1e-9)
    assert laboratory.coefficients[0] == pytest.approx(coefficients[0, 0], rel=1e-9)
    # ISO 5725-2, 7.4: mean number per laboratory (N - sum n^2/N)/(p - 1), here (13 - 25/13)/6
    assert laboratory.coefficients[0] == pytest.approx((13 - 25 / 13) / 6, rel=1e-12)
    # laboratories differ by far more than aliquots do: 0.2 to 0.4 and 0.4 to 0.8 mmol/g of about 22.6
    assert 0.2 < found.s_r < 0.4 < found.s_reproducibility < 0.8
    assert found.repeatability_limit == pytest.approx(2.8 * found.s_r)
    assert found.reproducibility_limit == pytest.approx(2.8 * found.s_reproducibility)


def test_points_within_aliquots_within_laboratories():
    # the plateau from a_w 0.78 to 0.92: two or three points an aliquot, taken as repeats for the arithmetic's sake
    rows = carbon_points()
    values = [float(row["water_mmol_g"]) for row in rows]
    labels = [(row["laboratory"], row["aliquot"]) for row in rows]
    assert len({labels.count(one) for one in labels}) > 1
    found = nested_components(values, labels, ["laboratory", "aliquot"])
    components, coefficients = by_brute_force(values, labels)
    assert [level.raw for level in found.levels] == pytest.approx(components[:2], rel=1e-8)
    assert found.s_r**2 == pytest.approx(components[2], rel=1e-8)
    assert found.levels[0].coefficients == pytest.approx(coefficients[0, :2], rel=1e-9)
    assert found.levels[1].coefficients == pytest.approx(coefficients[1, 1:2], rel=1e-9)


def made_up(rng, shape, spread):
    """Invented nested values: `shape[i][j]` repeats in subgroup j of group i."""
    values, labels = [], []
    for i, subgroups in enumerate(shape):
        group = rng.normal(0.0, spread[0])
        for j, repeats in enumerate(subgroups):
            subgroup = group + rng.normal(0.0, spread[1])
            for _ in range(repeats):
                values.append(subgroup + rng.normal(0.0, spread[2]))
                labels.append((f"day {i}", f"run {i}.{j}"))
    return values, labels


def test_unbalanced_nesting_at_both_levels():
    shape = [[2, 3], [1, 4, 2], [3], [2, 2, 5, 1]]
    values, labels = made_up(np.random.default_rng(21), shape, (0.004, 0.002, 0.001))
    found = nested_components(values, labels, ["day", "run"])
    components, coefficients = by_brute_force(values, labels)
    assert [level.raw for level in found.levels] == pytest.approx(components[:2], rel=1e-8)
    assert found.levels[0].coefficients == pytest.approx(coefficients[0, :2], rel=1e-9)
    assert found.grand_mean == pytest.approx(np.mean(values), rel=1e-12)


def test_unequal_numbers_are_estimated_without_bias():
    # the mean of many estimates must be the truth, within four standard errors of that mean
    rng = np.random.default_rng(22)
    truth = (0.004, 0.003, 0.002)
    shape = [[2, 1], [1, 3, 2], [3, 1], [2, 2, 4]]
    estimates = []
    for _ in range(1_500):
        found = nested_components(*made_up(rng, shape, truth), ["day", "run"])
        estimates.append([*(level.raw for level in found.levels), found.s_r**2])
    mean, error = np.mean(estimates, axis=0), np.std(estimates, axis=0) / math.sqrt(len(estimates))
    assert np.all(np.abs(mean - np.square(truth)) < 4.0 * error)
    assert np.all(error < 0.15 * np.square(truth))


def test_equal_numbers_agree_with_restricted_maximum_likelihood():
    values, labels = made_up(np.random.default_rng(23), [[3, 3]] * 8, (0.4, 0.0, 0.1))
    groups = [(day,) for day, _ in labels]
    found = nested_components(values, groups, ["day"])
    frame = pd.DataFrame({"y": values, "day": [day for (day,) in groups]})
    fit = mixedlm("y ~ 1", frame, groups=frame["day"]).fit(reml=True)
    assert found.s_r**2 == pytest.approx(fit.scale, rel=1e-4)
    assert found.levels[0].variance == pytest.approx(float(fit.cov_re.iloc[0, 0]), rel=1e-3)
    assert found.u_mean == pytest.approx(float(fit.bse_fe.iloc[0]), rel=1e-3)


def test_summaries_give_what_the_values_give():
    values, labels = made_up(np.random.default_rng(24), [[2], [4], [3], [5]], (0.4, 0.0, 0.1))
    groups = [(day,) for day, _ in labels]
    by_day = pd.Series(values).groupby([day for (day,) in groups])
    of_values = nested_components(values, groups, ["day"])
    of_summaries = components_from_summaries(
        by_day.mean().tolist(), by_day.std().tolist(), by_day.size().tolist(), "day"
    )
    assert of_summaries.levels[0].raw == pytest.approx(of_values.levels[0].raw, rel=1e-10)
    assert of_summaries.u_mean == pytest.approx(of_values.u_mean, rel=1e-10)
    assert of_summaries.u_mean_pooled == pytest.approx(of_values.u_mean_pooled, rel=1e-10)


def test_a_negative_component_is_reported_as_zero_and_kept_raw():
    values = [0.650, 0.660, 0.651, 0.659, 0.652, 0.658]
    found = nested_components(values, [("a",), ("a",), ("b",), ("b",), ("c",), ("c",)], ["day"])
    assert found.levels[0].raw < 0.0
    assert found.levels[0].variance == 0.0
    assert found.s_reproducibility == found.s_r
    assert found.f_ratio() < 1.0


@pytest.mark.parametrize(
    ("values", "labels", "names", "field"),
    [
        ([1.0, 2.0], [("a",)], ["lab"], "labels"),
        ([1.0, float("nan")], [("a",), ("b",)], ["lab"], "values"),
        ([1.0, 2.0], [("a", "x"), ("b",)], ["lab"], "labels"),
        ([1.0, 2.0], [("a",), ("b",)], ["lab"], "lab"),  # one value a group: nothing to see repeatability in
        ([1.0, 2.0], [("a",), ("a",)], ["lab"], "lab"),  # one group
        ([1.0, 2.0, 3.0, 4.0], [("a", 1), ("a", 1), ("b", 2), ("b", 2)], ["lab", "portion"], "portion"),
        ([1.0, 2.0], [(), ()], [], "names"),
    ],
)
def test_refuses_and_names_what_cannot_be_separated(values, labels, names, field):
    with pytest.raises(InputError) as refused:
        nested_components(values, labels, names)
    assert refused.value.field == field


@pytest.mark.parametrize(
    "arguments",
    [
        ([1.0, 2.0], [0.1], [2, 2]),
        ([1.0, float("inf")], [0.1, 0.1], [2, 2]),
        ([1.0, 2.0], [0.1, -0.1], [2, 2]),
        ([1.0, 2.0], [0.1, 0.1], [2, 0]),
        ([1.0], [0.1], [2]),
    ],
)
def test_summaries_are_refused_too(arguments):
    with pytest.raises(InputError):
        components_from_summaries(*arguments)
