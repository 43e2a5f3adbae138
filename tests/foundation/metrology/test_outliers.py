"""Grubbs and Dixon: printed critical values, the uranium example, and that nothing is ever removed."""

import csv
from importlib import resources

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from isohume.foundation.metrology import (
    dixon,
    dixon_critical,
    dixon_critical_exact,
    dixon_exceedance,
    grubbs,
    grubbs_critical,
)
from isohume.foundation.quantity import InputError, RangeError

# Tietjen and Moore 1972, as printed in the NIST/SEMATECH handbook, 1.3.5.17.1
URANIUM = [199.31, 199.53, 200.19, 200.82, 201.92, 201.95, 202.18, 245.57]


def printed(example):
    table = resources.files("isohume.published") / "tables" / "metrology.csv"
    with table.open(encoding="utf-8") as file:
        for row in csv.DictReader(file):
            if row["example"].startswith(example):
                n, alpha = (part.split("=")[1] for part in row["quantity"].split())
                yield int(n), float(alpha), float(row["value"])


@pytest.mark.parametrize("sides", ["two-sided", "one-sided"])
def test_grubbs_critical_values_agree_with_the_closed_form_of_scipy(sides):
    two_sided = sides == "two-sided"
    cells = [cell for cell in printed("Grubbs critical value") if cell[2] > 0]
    assert len(cells) == 42
    for n in range(3, 40):
        for alpha in (0.10, 0.05, 0.01):
            t = stats.t.isf(alpha / (2 * n if two_sided else n), n - 2)
            exact = (n - 1) / np.sqrt(n) * np.sqrt(t**2 / (n - 2 + t**2))
            assert grubbs_critical(n, alpha, two_sided) == pytest.approx(exact, rel=1e-10)


def test_uranium_isotope_ratios():
    hint = grubbs(URANIUM, two_sided=False)
    assert hint.statistic == pytest.approx(2.4687, abs=0.0001)
    assert hint.critical == pytest.approx(2.032, abs=0.001)
    assert (hint.suspect, hint.position, hint.lies_apart) == (245.57, 7, True)
    assert "stays" in hint.hint
    assert "assignable cause" in hint.hint


def test_nothing_is_removed_and_a_quiet_set_has_no_suspect():
    values = [0.650, 0.651, 0.649, 0.652]
    before = list(values)
    hint = grubbs(values)
    assert not hint.lies_apart
    assert "no value lies apart" in hint.hint
    assert values == before
    assert hint.n == 4


def test_dixon_tables_are_the_printed_ones():
    two_sided = list(printed("Dixon r10"))
    one_sided = list(printed("Dixon critical value, one-sided"))
    assert (len(two_sided), len(one_sided)) == (40, 24)
    for n, alpha, value in two_sided:
        assert dixon_critical(n, alpha) == value
    for n, alpha, value in one_sided:
        assert dixon_critical(n, alpha, "one_sided") == value


RATIOS = [(3, "r10"), (7, "r10"), (8, "r11"), (10, "r11"), (11, "r21"), (14, "r22")]


@pytest.mark.parametrize(("n", "ratio"), RATIOS)
def test_dixon_ratios_are_exceeded_as_often_as_the_integral_says(n, ratio):
    """The plain twin of the quadrature: many normal samples, the ratio written out."""
    trials = 200_000
    ordered = np.sort(np.random.default_rng(n).standard_normal((trials, n)), axis=1)
    gap, left_out = int(ratio[1]), int(ratio[2])
    highest = (ordered[:, -1] - ordered[:, -1 - gap]) / (ordered[:, -1] - ordered[:, left_out])
    for r in (0.2, 0.5, dixon_critical(n, 0.05, "one_sided")):
        p = dixon_exceedance(r, n, ratio)
        # four standard errors of the counted share
        assert np.mean(highest > r) == pytest.approx(p, abs=4.0 * np.sqrt(p * (1.0 - p) / trials))


@pytest.mark.parametrize(("n", "ratio"), RATIOS)
def test_a_ratio_is_never_below_zero(n, ratio):
    assert dixon_exceedance(0.0, n, ratio) == pytest.approx(1.0, abs=1e-6)  # what the quadrature promises


def test_printed_dixon_tables_are_near_the_exact_distribution():
    # worked out by hand in 1951 and reprinted: up to 0.0053 off (n = 4, two-sided 1 %)
    for n, alpha, value in printed("Dixon r10"):
        assert value == pytest.approx(dixon_critical_exact(n, alpha / 2), abs=0.006)
    for n, alpha, value in printed("Dixon critical value, one-sided"):
        ratio = "r10" if n <= 7 else "r11" if n <= 10 else "r21" if n <= 13 else "r22"
        assert value == pytest.approx(dixon_critical_exact(n, alpha, ratio), abs=0.006)


def test_the_one_sided_table_changes_its_ratio_with_n():
    rng = np.random.default_rng(2)
    for n, ratio in RATIOS:
        assert dixon(rng.standard_normal(n).tolist(), 0.05, "one_sided").test.startswith(f"Dixon {ratio}")


def test_equal_values_at_one_end_divide_by_nothing_and_raise_nothing():
    # r22 from below has no range left (0.65 to 0.65); from above the gap is the whole range
    hint = dixon([0.65] * 12 + [0.66, 0.67], 0.05, "one_sided")
    assert hint.statistic == pytest.approx(1.0, abs=1e-12)
    assert hint.suspect == 0.67


@settings(derandomize=True, max_examples=60)
@given(st.lists(st.integers(min_value=0, max_value=1000), min_size=3, max_size=10, unique=True))
def test_dixon_ratio_is_the_gap_over_the_range(thousandths):
    values = [x / 1000 for x in thousandths]
    ordered = sorted(values)
    width = ordered[-1] - ordered[0]
    gaps = ((ordered[1] - ordered[0]) / width, (ordered[-1] - ordered[-2]) / width)
    hint = dixon(values)
    assert hint.statistic == pytest.approx(max(gaps), rel=1e-9)
    assert values[hint.position] == hint.suspect
    assert hint.suspect in (ordered[0], ordered[-1])


@pytest.mark.parametrize(
    ("call", "error"),
    [
        (lambda: grubbs([0.65, 0.66]), InputError),
        (lambda: grubbs([0.65, 0.65, 0.65]), InputError),
        (lambda: grubbs([0.65, 0.66, float("nan")]), InputError),
        (lambda: grubbs_critical(2), RangeError),
        (lambda: grubbs_critical(8, 0.6), RangeError),
        (lambda: dixon_critical(11), RangeError),
        (lambda: dixon_critical(12, 0.05, "one_sided"), RangeError),
        (lambda: dixon_critical(8, 0.03), InputError),
        (lambda: dixon_critical(8, 0.05, "r99"), InputError),
        (lambda: dixon([0.65, 0.66]), InputError),
        (lambda: dixon_exceedance(1.0, 5), RangeError),
        (lambda: dixon_exceedance(0.5, 2), RangeError),
        (lambda: dixon_exceedance(0.5, 5, "r30"), InputError),
        (lambda: dixon_critical_exact(5, 0.5), RangeError),
    ],
)
def test_refuses(call, error):
    with pytest.raises(error):
        call()
