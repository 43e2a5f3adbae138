"""A stored isotherm against new pairs: fits, does not fit any more since when, cannot be told; hints of the basis."""

from datetime import date, timedelta

import numpy as np
import pytest
from scipy import stats

from isohume.desk.pairs import pairs_of
from isohume.desk.stored_isotherm import still_fits
from isohume.foundation.quantity.errors import InputError
from isohume.product.sorption import Points, fit

A_W = np.linspace(0.1, 0.9, 12)
U_A, U_X = 0.003, 0.001


def gab(a_w):
    return 0.06 * 12 * 0.95 * a_w / ((1 - 0.95 * a_w) * (1 - 0.95 * a_w + 12 * 0.95 * a_w))


def stored(seed=0, **named):
    return fit(Points(A_W, gab(A_W) + 1e-3 * np.random.default_rng(seed).normal(size=12), **named))


def pairs(change=lambda x, i: x, n=40, seed=0, **named):
    draw = np.random.default_rng(1000 + seed)
    a = draw.uniform(0.4, 0.7, n)
    x = np.array([change(gab(one), i) for i, one in enumerate(a)])
    days = [date(2025, 1, 1) + timedelta(days=7 * i) for i in range(n)]
    return pairs_of(
        (a + U_A * draw.normal(size=n)).tolist(), (x + U_X * draw.normal(size=n)).tolist(), U_A, U_X, days, **named
    )


def test_pairs_on_the_isotherm_fit():
    found = still_fits(stored(), pairs())
    assert found.verdict == "fits"
    assert found.since is None
    assert "40 pairs agree with it" in found.reasons[0]


def test_false_alarms_are_as_rare_as_stated():
    alarms = sum(still_fits(stored(seed), pairs(seed=seed)).verdict != "fits" for seed in range(400))
    assert alarms / 400 <= 0.05 + 3 * (0.05 * 0.95 / 400) ** 0.5


def test_a_shift_is_found_and_dated():
    found = still_fits(stored(), pairs(lambda x, i: x + 0.004 * (i >= 25)))
    assert found.verdict == "does not fit any more"
    true = date(2025, 1, 1) + timedelta(days=7 * 25)
    assert abs((found.since - true).days) <= 28
    assert any("since about" in each for each in found.reasons)


def test_a_shift_from_the_first_pair_on():
    found = still_fits(stored(), pairs(lambda x, i: x + 0.006))
    assert any("from the first of these pairs on" in each for each in found.reasons)
    assert found.since == date(2025, 1, 1)
    assert found.mean.value == pytest.approx(0.006, abs=0.0015)
    assert found.shift_a_w < 0.0  # wetter at the same a_w is a lower a_w at the same moisture


def test_a_slow_drift_is_found():
    found = still_fits(stored(), pairs(lambda x, i: x + 0.005 * (i - 20) / 40))
    assert found.verdict == "does not fit any more"
    # 40 weeks carry 0.005
    assert found.trend.value == pytest.approx(0.005 * 52.18 / 40, abs=3 * found.trend.u)


def test_a_few_wild_pairs_do_not_retire_an_isotherm():
    found = still_fits(stored(), pairs(lambda x, i: x + (0.012 if i == 7 else -0.012 if i == 30 else 0.0)))
    assert found.verdict == "fits but for some pairs"
    assert found.since is None
    assert found.reasons[0] == "far off, to be looked at: 2025-02-19, 2025-07-30"
    assert "38 pairs agree with it" in found.reasons[1]


def test_scatter_without_a_shift_names_the_worst():
    # u stated three times too small, no pair far enough off to be a slip of its own
    found = still_fits(stored(), pairs(lambda x, i: x + 0.0035 * (-1) ** i))
    assert found.verdict == "does not fit any more"
    assert found.since is None
    assert "scatter more about it than u says" in found.reasons[0]


def test_figures_against_plain_algebra():
    isotherm, some = stored(), pairs()
    found = still_fits(isotherm, some)
    a, x = np.array(some.a_w), np.array(some.moisture_db)
    step = 1e-6
    rows = isotherm.curve(a)
    slope = (isotherm.curve(a + step)[0] - isotherm.curve(a - step)[0]) / (2 * step)
    c = np.diag(U_X**2 + (slope * U_A) ** 2) + rows[2:].T @ isotherm.covariance @ rows[2:]
    r = x - rows[0]
    inverse = np.linalg.inv(c)
    one = np.ones(40)
    assert found.chi_squared == pytest.approx(r @ inverse @ r, rel=1e-6)
    assert found.chi_probability == pytest.approx(stats.chi2.sf(found.chi_squared, 40), rel=1e-9)
    assert found.mean.value == pytest.approx(one @ inverse @ r / (one @ inverse @ one), rel=1e-5, abs=1e-9)
    assert found.mean.u == pytest.approx((one @ inverse @ one) ** -0.5, rel=1e-6)


def test_the_isotherms_own_uncertainty_counts():
    # an isotherm from four points is known badly: the same pairs that a good one refuses do not refute it
    few = fit(Points(A_W[2:11:2], gab(A_W[2:11:2]) + np.array([2, -2, 2, -2, 2]) * 2e-3))
    shifted = pairs(lambda x, i: x + 0.003)
    assert still_fits(stored(), shifted).verdict == "does not fit any more"
    assert still_fits(few, shifted).verdict == "fits"


@pytest.mark.parametrize(
    ("change", "hint"),
    [
        (lambda x, i: x / (1 + x), "read as wet basis"),
        (lambda x, i: x / (1 - x), "from dry to wet basis"),
    ],
)
def test_the_wrong_basis_throughout_is_hinted(change, hint):
    found = still_fits(stored(), pairs(change))
    assert found.verdict == "does not fit any more"
    assert len(found.hints) == 1
    assert found.hints[0].startswith("the pairs fit once")
    assert hint in found.hints[0]


def test_one_slip_of_the_pen_is_named():
    found = still_fits(stored(), pairs(lambda x, i: x / (1 + x) if i == 9 else x))
    assert found.verdict == "fits but for some pairs"
    assert found.hints == (
        "2025-03-05 fit once their moisture is read as wet basis: a wet-basis figure stands in the dry-basis column",
    )


def test_a_plain_shift_hints_at_no_basis():
    assert still_fits(stored(), pairs(lambda x, i: x + 0.03)).hints == ()


def test_pairs_outside_the_range_are_left_out_and_named():
    draw = pairs(n=6)
    with_one = pairs_of(
        [*draw.a_w, 0.97], [*draw.moisture_db, 0.5], U_A, U_X, [*draw.at, date(2026, 1, 1)],
    )  # fmt: skip
    found = still_fits(stored(), with_one)
    assert found.left_out == ("2026-01-01",)
    assert found.n == 6


@pytest.mark.parametrize(
    ("isotherm", "some", "said"),
    [
        ({}, {"n": 2}, "3 are needed"),
        ({"product": "bar"}, {"product": "cake"}, "the isotherm is of product bar"),
        ({"formula_version": "3"}, {"formula_version": "4"}, "recipe 3"),
        ({"temperature_c": 25.0}, {"temperature_c": 20.0}, "restate a_w first"),
    ],
)
def test_what_cannot_be_told_says_why(isotherm, some, said):
    found = still_fits(stored(**isotherm), pairs(**some))
    assert found.verdict == "cannot be told"
    assert any(said in each for each in found.reasons)


def test_a_significance_that_is_none_is_refused():
    with pytest.raises(InputError, match=r"0\.05"):
        still_fits(stored(), pairs(), significance=5)
