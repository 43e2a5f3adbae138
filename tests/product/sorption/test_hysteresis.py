"""The loop of two fitted branches: widths, area, intervals, where it closes; branches are never mixed."""

import numpy as np
import pytest
from scipy import integrate, stats

from isohume.foundation.quantity.errors import InputError, RangeError
from isohume.product.sorption import Points, fit
from isohume.product.sorption.hysteresis import fit_branches, hysteresis_loop

A_W = np.linspace(0.05, 0.9, 14)
UP, DOWN = (0.06, 12.0, 0.95), (0.07, 18.0, 0.93)


def gab(a_w, monolayer, c, k):
    return monolayer * c * k * a_w / ((1 - k * a_w) * (1 - k * a_w + c * k * a_w))


def branch(name, constants, noise=5e-4, seed=0, model="gab", **named):
    draw = np.random.default_rng(seed)
    x = gab(A_W, *constants) + noise * draw.normal(size=A_W.size)
    return fit(Points(A_W, x, direction=name, **named), model)


def loop(noise=5e-4, level=0.95):
    return hysteresis_loop(branch("adsorption", UP, noise, 1), branch("desorption", DOWN, noise, 2), level)


def test_widths_and_area_of_known_branches():
    found = loop(noise=0.0)
    assert found.width_in_moisture(0.5).value == pytest.approx(gab(0.5, *DOWN) - gab(0.5, *UP), rel=1e-6)
    area, _ = integrate.quad(lambda a: gab(a, *DOWN) - gab(a, *UP), 0.05, 0.9, epsabs=1e-12)
    assert found.area_db == pytest.approx(area, rel=1e-6)
    # the a_w of one moisture on both branches, by halving
    from scipy.optimize import brentq

    dry, wet = (brentq(lambda a, p=p: gab(a, *p) - 0.1, 0.01, 0.95) for p in (UP, DOWN))
    assert found.width_in_a_w(0.1).value == pytest.approx(dry - wet, rel=1e-6)


def test_intervals_are_those_of_two_independent_fits():
    up, down = branch("adsorption", UP, seed=1), branch("desorption", DOWN, seed=2)
    found = hysteresis_loop(up, down, level=0.9)
    spread = []
    for one in (up, down):
        g = one.curve(np.array([0.5]))[2:, 0]
        spread.append(float(g @ one.covariance @ g))
    width = found.width_in_moisture(0.5)
    assert width.u == pytest.approx(sum(spread) ** 0.5, rel=1e-9)
    half = stats.t.ppf(0.95, min(up.dof, down.dof)) * width.u
    assert width.high - width.value == pytest.approx(half, rel=1e-9)
    assert width.is_open


def test_u_of_the_area_against_measuring_again():
    areas = [
        hysteresis_loop(branch("adsorption", UP, seed=2 * i), branch("desorption", DOWN, seed=2 * i + 1)).area_db
        for i in range(150)
    ]
    stated = np.median([loop().u_area_db])
    assert np.std(areas) == pytest.approx(stated, rel=0.5)  # stated from 11 degrees of freedom a branch


def test_the_interval_of_the_width_covers():
    truth = gab(0.4, *DOWN) - gab(0.4, *UP)
    held = 0
    for i in range(200):
        found = hysteresis_loop(branch("adsorption", UP, seed=2 * i), branch("desorption", DOWN, seed=2 * i + 1))
        width = found.width_in_moisture(0.4)
        held += width.low <= truth <= width.high
    assert held / 200 >= 0.95 - 3 * (0.95 * 0.05 / 200) ** 0.5


def test_where_it_closes():
    # desorption meets adsorption at 0.3 and stays with it below; fitted by a smooth model on the branch above only
    a = np.linspace(0.1, 0.9, 17)
    draw = np.random.default_rng(0)
    up = 0.02 + 0.2 * a
    down = up + np.maximum(0.0, a - 0.3) * 0.1
    ads = fit(Points(a, up + 2e-4 * draw.normal(size=17), direction="adsorption"), "peleg")
    des = fit(Points(a, down + 2e-4 * draw.normal(size=17), direction="desorption"), "peleg")
    found = hysteresis_loop(ads, des)
    assert found.closes_at is not None
    assert 0.2 < found.closes_at < 0.45
    assert found.widest_at > 0.8


def test_no_loop_where_there_is_none():
    found = hysteresis_loop(branch("adsorption", UP, 1e-3, 5), branch("desorption", UP, 1e-3, 6))
    assert any("no loop" in each for each in found.warnings)
    assert not found.width_in_moisture(0.5).is_open


def test_exchanged_branches_are_noticed():
    found = hysteresis_loop(branch("adsorption", DOWN), branch("desorption", UP))
    assert any("check the directions" in each for each in found.warnings)


def test_nothing_beyond_the_common_range():
    with pytest.raises(RangeError, match="both branches"):
        loop().width_in_moisture(0.95)
    with pytest.raises(RangeError):
        loop().width_in_a_w(1.0)


@pytest.mark.parametrize(
    ("make", "said"),
    [
        (lambda: (branch("desorption", UP), branch("adsorption", DOWN)), "never mixed"),
        (lambda: (fit(Points(A_W, gab(A_W, *UP))), branch("desorption", DOWN)), "never mixed"),
        (
            lambda: (
                fit(Points(A_W, gab(A_W, *UP), direction=["adsorption", "desorption"] * 7)),
                branch("desorption", DOWN),
            ),
            "never mixed",
        ),
        (lambda: (branch("adsorption", UP, product="bar"), branch("desorption", DOWN, product="cake")), "product"),
        (
            lambda: (branch("adsorption", UP, temperature_c=20.0), branch("desorption", DOWN, temperature_c=30.0)),
            "temperature",
        ),
    ],
)
def test_branches_of_different_things_are_refused(make, said):
    with pytest.raises(InputError, match=said):
        hysteresis_loop(*make())


def test_each_direction_is_fitted_on_its_own():
    points = Points(
        np.tile(A_W, 2),
        np.concatenate([gab(A_W, *UP), gab(A_W, *DOWN)]),
        direction=["adsorption"] * 14 + ["desorption"] * 14,
    )
    fits = fit_branches(points)
    assert fits["adsorption"].parameters["monolayer_db"] == pytest.approx(0.06, rel=1e-6)
    assert fits["desorption"].parameters["monolayer_db"] == pytest.approx(0.07, rel=1e-6)
    with pytest.raises(InputError, match="direction"):
        fit_branches(Points(A_W, gab(A_W, *UP)))
