"""Grubbs and Dixon: printed critical values, the uranium example, and that nothing is ever removed."""

import csv
from importlib import resources

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from isohume.foundation.metrology import dixon, dixon_critical, grubbs, grubbs_critical
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


@pytest.mark.parametrize(("n", "ratio"), [(3, "r10"), (7, "r10"), (8, "r11"), (10, "r11"), (11, "r21"), (14, "r22")])
def test_dixon_one_sided_critical_values_belong_to_their_ratio(n, ratio):
    """The 95 % point of the named ratio over many normal samples must be the printed critical value."""
    rng = np.random.default_rng(n)
    ordered = np.sort(rng.standard_normal((200_000, n)), axis=1)
    gap, left_out = int(ratio[1]), int(ratio[2])
    highest = (ordered[:, -1] - ordered[:, -1 - gap]) / (ordered[:, -1] - ordered[:, left_out])
    # four standard errors of the simulated point, and the last printed digit
    assert np.quantile(highest, 0.95) == pytest.approx(dixon_critical(n, 0.05, "one_sided"), abs=0.005)
    values = rng.standard_normal(n).tolist()
    assert dixon(values, 0.05, "one_sided").test.startswith(f"Dixon {ratio}")


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
    ],
)
def test_refuses(call, error):
    with pytest.raises(error):
        call()
