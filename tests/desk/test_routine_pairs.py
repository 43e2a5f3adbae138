"""The local isotherm of routine pairs: value, interval, drift apart from a_w, refusals."""

from datetime import UTC, date, datetime, timedelta

import numpy as np
import pytest

from isohume.desk.pairs import pairs_of
from isohume.desk.routine_pairs import local_isotherm
from isohume.foundation.quantity.errors import InputError, RangeError

U_A, U_X = 0.003, 0.001


def history(n=60, seed=1, drift=0.0, bend=0.0, low=0.60, high=0.68, wander=0.0, u_true=1.0, **named):
    """Pairs on X = 0.12 + 0.15 (a - 0.64), every fifth day; `wander` moves a_w itself with time."""
    draw = np.random.default_rng(seed)
    days = 5.0 * np.arange(n)
    a = draw.uniform(low, high, n) + wander * days / days[-1]
    x = 0.12 + 0.15 * (a - 0.64) + bend * (a - 0.64) ** 2 + drift * days / 365.25
    return pairs_of(
        (a + u_true * U_A * draw.normal(size=n)).tolist(),
        (x + u_true * U_X * draw.normal(size=n)).tolist(),
        U_A, U_X, [date(2025, 1, 1) + timedelta(days=int(day)) for day in days], **named,
    )  # fmt: skip


def test_value_and_interval():
    found = local_isotherm(history())
    here = found.moisture_at(0.64)
    assert here.low < 0.12 < here.high
    assert here.high - here.low < 4 * U_X / 60**0.5 * 2
    a = found.a_w_at(0.12, u_moisture=U_X)
    assert a.low < 0.64 < a.high
    # u of a_w: the curve's and the moisture's, over the slope
    assert (a.high - a.low) / 2 == pytest.approx(
        2.0017 * np.hypot(found.curve.u(a.value), U_X) / found.curve.slope(a.value), rel=1e-4
    )  # t table: 0.975, 58 degrees of freedom
    assert found.moisture_at(a.value).value == pytest.approx(0.12, abs=1e-9)
    assert found.reasons[0] == "straight line through 60 pairs, errors in both"


def test_the_interval_covers():
    held = sum(
        found.low <= 0.12 <= found.high
        for found in (local_isotherm(history(n=20, seed=seed)).moisture_at(0.64) for seed in range(300))
    )
    # u is widened, never narrowed, so that the coverage is 95 % or more; three standard errors of a proportion below
    assert held / 300 >= 0.95 - 3 * (0.95 * 0.05 / 300) ** 0.5


def test_drift_is_found_with_its_interval():
    drift = local_isotherm(history(drift=0.006)).drift
    assert drift.shown
    assert drift.low < 0.006 < drift.high
    assert drift.a_w_per_year == pytest.approx(-0.006 / 0.15, rel=0.3)
    assert "product, oven or meter changed" in drift.words


def test_an_a_w_that_changed_with_time_is_no_drift():
    false_alarms = sum(
        local_isotherm(history(seed=seed, low=0.60, high=0.64, wander=0.05)).drift.shown for seed in range(200)
    )
    assert false_alarms / 200 <= 0.05 + 3 * (0.05 * 0.95 / 200) ** 0.5


def test_a_bend_is_kept_only_where_it_is_there():
    assert local_isotherm(history(bend=0.7, low=0.55, high=0.73)).reasons[0].startswith("bent")
    straight = sum(local_isotherm(history(seed=seed)).reasons[0].startswith("straight") for seed in range(100))
    assert straight >= 95  # a bend by chance is kept in 1 % of the histories


def test_scatter_beyond_u_widens():
    calm, wild = local_isotherm(history()), local_isotherm(history(u_true=3.0))
    assert wild.curve.scale == pytest.approx(3.0, rel=0.3)
    assert any("every interval is that much wider" in each for each in wild.reasons)
    assert wild.curve.u(0.64) > 2 * calm.curve.u(0.64)


def test_nothing_is_said_outside_the_pairs():
    found = local_isotherm(history())
    for ask in (lambda: found.moisture_at(0.80), lambda: found.a_w_at(0.30)):
        with pytest.raises(RangeError):
            ask()


def test_pairs_too_close_together_give_no_isotherm():
    found = local_isotherm(history(n=12, low=0.639, high=0.641))
    assert not found.usable
    assert "further apart" in found.reasons[0]
    with pytest.raises(InputError, match="further apart"):
        found.moisture_at(0.64)


def test_pairs_of_one_day_have_no_drift():
    a = [0.6, 0.62, 0.64, 0.66, 0.68, 0.7]
    one_day = pairs_of(a, [0.15 * one + 0.024 for one in a], U_A, U_X, [date(2025, 1, 1)] * 6)
    found = local_isotherm(one_day)
    assert found.drift is None
    assert "too few different times" in found.reasons[-1]


def test_residuals_are_measured_less_local():
    found = local_isotherm(history())
    first = found.pairs.moisture_db[0] - found.curve.value(found.pairs.a_w[0])
    assert found.residuals[0] == pytest.approx(first)
    assert sum(found.residuals) == pytest.approx(0.0, abs=1e-3)


def test_pairs_are_put_in_the_order_of_time():
    days = [date(2025, 2, 1), date(2025, 1, 1)]
    pairs = pairs_of([0.6, 0.7], [0.1, 0.2], [0.003, 0.004], 0.001, days, lots=["B", "A"])
    assert pairs.a_w == (0.7, 0.6)
    assert pairs.u_a_w == (0.004, 0.003)
    assert pairs.days == (0.0, 31.0)
    assert pairs.name(0) == "A (2025-01-01)"
    assert pairs.of([1]).lots == ("B",)


@pytest.mark.parametrize(
    ("changed", "said"),
    [
        ({"a_w": [65.2, 0.6]}, "0.652"),
        ({"a_w": [0.6]}, "one a pair"),
        ({"moisture_db": [0.0, 0.1]}, "above 0"),
        ({"u_a_w": 0.0}, "errors in both need both"),
        ({"u_moisture": [0.001, float("nan")]}, "errors in both need both"),
        ({"at": [date(2025, 1, 1), datetime(2025, 1, 1, tzinfo=UTC)]}, "one kind"),
        ({"temperature_c": [20.0, 25.0]}, "restate the others first"),
        ({"lots": ["A"]}, "one a pair"),
    ],
)
def test_what_is_no_pair_is_refused(changed, said):
    plain = {"a_w": [0.6, 0.7], "moisture_db": [0.1, 0.2], "u_a_w": 0.003, "u_moisture": 0.001}
    plain["at"] = [date(2025, 1, 1)] * 2
    with pytest.raises(InputError, match=said):
        pairs_of(**{**plain, **changed})


def test_too_few_pairs_or_a_wrong_level_are_refused():
    with pytest.raises(InputError, match="at least 6"):
        local_isotherm(history(n=5))
    with pytest.raises(InputError, match="above 0 and below 1"):
        local_isotherm(history(), level=95)
