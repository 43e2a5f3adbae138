"""Net isosteric heat from isotherms: published constants, one line over three temperatures, bands, refusals."""

import math

import numpy as np
import pytest
from scipy import stats

from isohume.foundation.metrology import weighted_line
from isohume.foundation.quantity.errors import InputError, RangeError
from isohume.foundation.water import latent_heat
from isohume.product.sorption import Points, fit
from isohume.product.sorption.heat import isosteric_heat
from isohume.product.sorption.heat_bootstrap import bootstrap_heat

A_W = np.linspace(0.1, 0.9, 12)
# modified Oswin X (% d.b.) = (A + B t)(a/(1 - a))^C; moisture (% d.b.) and net heat at 15/35 degC (ids I0312-I0391)
SEEDS = {
    "chickpea": ((11.2175, -0.0615631, 0.49142), ((6.77, 6.4407), (9.68, 4.7738), (13.55, 3.2008))),
    "lentil": ((12.062, -0.0573838, 0.343383), ((7.44, 8.5682), (10.63, 5.7958), (14.88, 3.1652))),
    "kidney bean": ((14.0761, -0.0763, 0.462107), ((8.52, 6.8473), (12.17, 5.0040), (17.04, 3.2579))),
    "rapeseed": ((6.95472, -0.032779, 0.470207), ((4.29, 5.7157), (6.14, 4.1885), (8.59, 2.7526))),
    "sunflower": ((4.8, -0.0158, 0.622278), ((3.08, 2.7231), (4.4, 2.1295), (6.17, 1.5651))),
}
GAS = 8.314462618e-3


def seed_moisture(name, a_w, t):
    a, b, c = SEEDS[name][0]
    return (a + b * t) * (a_w / (1 - a_w)) ** c / 100


def isotherms(temperatures, noise=0.0, seed=1, name="chickpea", **named):
    draw = np.random.default_rng(seed)
    return [
        fit(
            Points(
                A_W, seed_moisture(name, A_W, t) * (1 + noise * draw.normal(size=A_W.size)), temperature_c=t, **named
            ),
            "oswin",
        )
        for t in temperatures
    ]


def two(field, one, other):
    """A cold and a warm isotherm that differ in one thing more."""
    return [*isotherms((15.0,), **{field: one}), *isotherms((35.0,), **{field: other})]


def together(temperatures, noise=0.0, seed=1):
    draw = np.random.default_rng(seed)
    t, a = np.repeat(temperatures, A_W.size), np.tile(A_W, len(temperatures))
    x = seed_moisture("chickpea", a, t) * (1 + noise * draw.normal(size=a.size))
    return Points(a, x, temperature_c=t)


@pytest.mark.parametrize("name", SEEDS)
def test_published_constants_of_five_seeds(name):
    wanted = SEEDS[name][1]
    found = isosteric_heat(isotherms((15.0, 35.0), name=name), [x / 100 for x, _ in wanted])
    for row, (x, heat) in zip(found.rows, wanted, strict=True):
        # moisture is printed to 0.01 %: half a unit of it moves q by about 1/C of its relative size
        assert row.value_kj_mol == pytest.approx(heat, abs=heat * 0.005 / x * 4 + 5e-5)


def test_a_model_of_all_temperatures_gives_the_same():
    fitted = fit(together((15.0, 25.0, 35.0)), "modified_oswin")
    found = isosteric_heat(fitted, [0.0677, 0.0968, 0.1355], between_c=(15.0, 35.0))
    assert [row.value_kj_mol for row in found.rows] == pytest.approx([6.4407, 4.7738, 3.2008], abs=0.005)


def test_derivative_by_hand():
    # modified Oswin: ln a = -ln(1 + (X/(A + B t))^(-1/C)), so q = R T^2 d ln a/dT = -R T^2 (B/((A + B t) C)) (1 - a)
    a, b, c = SEEDS["chickpea"][0]
    found = isosteric_heat(fit(together((15.0, 25.0, 35.0)), "modified_oswin"), [0.0968], at_c=22.0)
    y = (9.68 / (a + b * 22.0)) ** (1 / c)
    a_w = y / (1 + y)
    by_hand = -GAS * 295.15**2 * b / ((a + b * 22.0) * c) * (1 - a_w)
    assert found.rows[0].value_kj_mol == pytest.approx(by_hand, rel=1e-6)
    assert found.at_c == 22.0


def test_three_temperatures_are_a_weighted_line():
    fits = isotherms((15.0, 25.0, 35.0), noise=0.01, seed=5)
    row = isosteric_heat(fits, [0.0968]).rows[0]
    logs, spread = [], []
    for one in fits:
        a = one.water_activity(0.0968)
        logs.append(math.log(a))
        # du of ln a by moving each parameter: the plain twin of the gradient
        moved = []
        for place, size in enumerate(one.values):
            step = 1e-6 * size
            values = one.values.copy()
            values[place] += step
            x = values[0] * (a / (1 - a)) ** values[1]
            moved.append(-(x - 0.0968) / step / (one.slope(a) * a))
        g = np.array(moved)
        spread.append(math.sqrt(g @ one.covariance @ g))
    line = weighted_line([1 / (t + 273.15) for t in (15.0, 25.0, 35.0)], logs, spread)
    assert row.value_kj_mol == pytest.approx(-GAS * line.slope, rel=1e-9)
    widened = max(1.0, math.sqrt(line.chi_squared))  # one degree of freedom
    assert row.u_kj_mol == pytest.approx(GAS * line.u_slope * widened, rel=1e-4)
    assert row.bend == pytest.approx(stats.f.sf(line.chi_squared, 1, 30), rel=1e-3)


def test_band_is_students():
    row = isosteric_heat(isotherms((15.0, 35.0), noise=0.01), [0.0968], level=0.9).rows[0]
    half = stats.t.ppf(0.95, row.dof) * row.u_kj_mol
    assert (row.low, row.high) == pytest.approx((row.value_kj_mol - half, row.value_kj_mol + half), rel=1e-9)
    assert 10 < row.dof <= 20


def test_band_covers():
    truth = 4.7738
    held = 0
    for seed in range(200):
        row = isosteric_heat(isotherms((15.0, 35.0), noise=0.01, seed=seed), [0.0968]).rows[0]
        held += row.low <= truth <= row.high
    # 200 draws: 95 % +- 3 standard errors of a proportion
    assert held / 200 >= 0.95 - 3 * (0.95 * 0.05 / 200) ** 0.5


def test_bootstrap_and_covariance_agree():
    for fits in (fit(together((15.0, 25.0, 35.0), 0.01), "modified_oswin"), isotherms((15.0, 35.0), noise=0.01)):
        plain = isosteric_heat(fits, [0.0677, 0.1355])
        drawn = bootstrap_heat(fits, [0.0677, 0.1355], replicates=400)
        for one, other in zip(plain.rows, drawn.rows, strict=True):
            assert other.value_kj_mol == one.value_kj_mol
            assert other.u_kj_mol == pytest.approx(one.u_kj_mol, rel=0.25)  # both are estimates from a dozen residuals
            assert other.low < one.value_kj_mol < other.high
    assert "400 bootstrap replicates" in drawn.method


def test_bootstrap_repeats_with_its_seed():
    fits = isotherms((15.0, 35.0), noise=0.01)
    assert bootstrap_heat(fits, [0.1], replicates=100, seed=3) == bootstrap_heat(fits, [0.1], replicates=100, seed=3)
    with pytest.raises(InputError, match="100 or more"):
        bootstrap_heat(fits, [0.1], replicates=10)


def test_grid_lies_in_the_range_common_to_all():
    cold, warm = isotherms((15.0, 35.0))
    found = isosteric_heat((cold, warm))
    low, high = found.moisture_db
    assert len(found.rows) == 15
    assert (low, high) == pytest.approx((cold.moisture(0.1), warm.moisture(0.9)), rel=1e-6)
    assert found.rows[0].moisture_db == low
    assert found.rows[-1].moisture_db == high
    for beyond in (low * 0.99, high * 1.01):
        with pytest.raises(RangeError, match="common to all temperatures"):
            isosteric_heat((cold, warm), beyond)


def test_rows_as_the_command_line_prints_them():
    row = isosteric_heat(isotherms((15.0, 35.0), noise=0.01)).rows[0]
    assert list(row.as_json()) == ["moisture_db", "value_kj_mol", "low", "high"]


def test_total_adds_the_heat_of_vaporisation():
    found = isosteric_heat(isotherms((15.0, 35.0)), [0.1])
    total = found.total_kj_mol()[0]
    assert total - found.rows[0].value_kj_mol == pytest.approx(latent_heat(found.at_c + 273.15) / 1000)


def test_two_points_a_temperature_leave_no_band():
    bare = [fit(Points([0.3, 0.7], seed_moisture("chickpea", np.array([0.3, 0.7]), t), temperature_c=t), "oswin")
            for t in (15.0, 35.0)]  # fmt: skip
    found = isosteric_heat(bare, [0.1])
    assert found.rows[0].u_kj_mol is None
    assert found.rows[0].low is None
    assert any("no uncertainty" in each for each in found.warnings)


def test_a_bent_line_is_said_and_widened():
    draw = np.random.default_rng(0)
    fits = [
        fit(
            Points(A_W, seed_moisture("chickpea", A_W, t) * (1 + 2e-3 * draw.normal(size=12)), temperature_c=at),
            "oswin",
        )
        for t, at in ((15.0, 15.0), (32.0, 25.0), (35.0, 35.0))  # the middle one was not at its set temperature
    ]
    found = isosteric_heat(fits, [0.0968])
    assert found.rows[0].bend < 0.05
    assert any("not straight" in each for each in found.warnings)
    straight = isosteric_heat([fits[0], fits[2]], [0.0968]).rows[0]
    assert found.rows[0].u_kj_mol > 2 * straight.u_kj_mol


def test_a_parameter_at_its_bound_is_named():
    a = np.linspace(0.1, 0.9, 12)
    k_above_one = [
        fit(Points(a, 0.05 * 10 * 1.02 * a / ((1 - 1.02 * a) * (1 + 9 * 1.02 * a)) * (1 - 0.004 * (t - 20)),
                   temperature_c=t), "gab")
        for t in (20.0, 40.0)
    ]  # fmt: skip
    assert any("k" in each and "exact" in each for each in isosteric_heat(k_above_one).warnings)


@pytest.mark.parametrize(
    ("make", "said"),
    [
        (lambda: isosteric_heat(isotherms((20.0,))), "two temperatures or more"),
        (lambda: isosteric_heat(isotherms((20.0, 20.0))), "one isotherm a temperature"),
        (lambda: isosteric_heat(isotherms((15.0, 35.0)), at_c=20.0), "nothing, with one isotherm"),
        (lambda: isosteric_heat(isotherms((15.0, 35.0)), level=95.0), "above 0 and below 1"),
        (
            lambda: isosteric_heat(two("direction", "adsorption", "desorption")),
            "direction",
        ),
        (lambda: isosteric_heat(two("product", "bar", "cake")), "product"),
        (lambda: isosteric_heat(two("formula_version", "3", "4")), "formula"),
        (lambda: isosteric_heat([fit(Points(A_W, seed_moisture("chickpea", A_W, 15.0)), "oswin")] * 2), "temperature"),
        (lambda: isosteric_heat(fit(together((15.0, 35.0)), "modified_oswin"), at_c=60.0), "at_c"),
        (lambda: isosteric_heat(fit(together((15.0, 35.0)), "modified_oswin"), between_c=(20.0, 20.0)), "different"),
        (lambda: isosteric_heat(fit(together((15.0, 35.0)), "oswin")), "model with temperature"),
    ],
)  # fmt: skip
def test_what_cannot_be_is_refused(make, said):
    with pytest.raises(InputError, match=said):
        make()


def test_isotherms_without_a_common_moisture_are_refused():
    dry = fit(Points(A_W[:6], seed_moisture("chickpea", A_W[:6], 35.0), temperature_c=35.0), "oswin")
    wet = fit(Points(A_W[8:], seed_moisture("chickpea", A_W[8:], 15.0), temperature_c=15.0), "oswin")
    with pytest.raises(InputError, match="share a range of moisture"):
        isosteric_heat((dry, wet))


def test_points_at_zero_a_w_do_not_break_the_heat():
    a = np.array([0.0, 0.1, 0.3, 0.5, 0.7, 0.9])
    fits = [
        fit(Points(a, 0.06 * 8 * 0.8 * a / ((1 - 0.8 * a) * (1 + 7 * 0.8 * a)) * f, temperature_c=t), "gab")
        for t, f in ((15.0, 1.0), (35.0, 0.93))
    ]
    found = isosteric_heat(fits)
    assert found.moisture_db[0] == pytest.approx(fits[0].moisture(0.1), rel=1e-6)
    assert all(math.isfinite(row.value_kj_mol) for row in found.rows)


def test_temperatures_that_wander_a_little_are_one():
    points = together((15.0, 25.0, 35.0))
    wandering = points.temperature_c + 0.3 * np.sin(np.arange(36))
    exact = isosteric_heat(fit(points, "modified_oswin"))
    found = isosteric_heat(fit(Points(points.a_w, points.moisture_db, temperature_c=wandering), "modified_oswin"))
    assert found.moisture_db == pytest.approx(exact.moisture_db, rel=0.01)
    assert len(found.rows) == 15


def test_one_point_a_temperature_is_no_isotherm():
    t = np.linspace(10.0, 40.0, 8)
    a = np.linspace(0.2, 0.8, 8)
    lone = Points(a, seed_moisture("chickpea", a, t), temperature_c=t)
    with pytest.raises(InputError, match="two points or more"):
        isosteric_heat(fit(lone, "modified_oswin"))
