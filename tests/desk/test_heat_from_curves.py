"""The heat from kept curves against Clausius and Clapeyron by hand, and against the road over the fits."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy import stats

from isohume.desk import BenchReading, heat_from_isotherms, restate
from isohume.desk.heat_from_curves import CurveSet, KeptCurve, heat_from_curves
from isohume.foundation.quantity.errors import InputError, RangeError
from isohume.product.sorption import Points, fit
from isohume.product.sorption.isotherm_fit import Fit

R_KJ = 8.31446261815324e-3


def line(temperature_c: float, shift: float = 0.0, u: float = 0.002, rise: float = 0.2) -> KeptCurve:
    """X = rise (a - shift) over a_w 0.1 to 0.9."""
    return KeptCurve(
        temperature_c,
        (0.1, 0.9),
        (rise * (0.1 - shift), rise * (0.9 - shift)),
        lambda a: rise * (a - shift),
        lambda x: x / rise + shift,
        lambda _: rise,
        lambda _: u,
        math.inf,
    )


def test_the_chickpea_s_heat_between_15_and_35_degc() -> None:
    """Modified Oswin of chickpea: one moisture at a_w 0.29885 and 0.35582: 6.441 kJ/mol (as net_heat_between)."""
    curves = CurveSet((line(15.0), line(35.0, shift=0.35582 - 0.29885)))
    found = heat_from_curves(curves, 0.29885, 15.0, 35.0)
    assert found.value_kj_mol == pytest.approx(6.441, abs=5e-4)
    assert found.temperature_c == (15.0, 35.0)
    assert found.origin == "own isotherms"


def test_its_u_is_that_of_the_curves_by_hand() -> None:
    """u(ln a) = u(X)/(a dX/da) on both; u(q) = R sqrt(sum)/(1/T1 - 1/T2), as a line through two points has it."""
    curves = CurveSet((line(15.0), line(35.0, shift=0.05)))
    found = heat_from_curves(curves, 0.45, 15.0, 35.0)
    by_hand = R_KJ * math.hypot(0.01 / 0.45, 0.01 / 0.50) / (1 / 288.15 - 1 / 308.15)
    assert found.u_kj_mol == pytest.approx(by_hand, rel=1e-9)


def test_three_temperatures_are_a_weighted_line() -> None:
    """Slope and standard error of numpy's weighted fit of ln a on 1/T, widened by the scatter about the line."""
    shifts, u = (0.0, 0.020, 0.065), (0.002, 0.003, 0.002)
    temperatures = np.array((10.0, 25.0, 40.0))
    curves = CurveSet(tuple(line(t, s, one) for t, s, one in zip(temperatures, shifts, u, strict=True)))
    found = heat_from_curves(curves, 0.45, 10.0, 40.0)
    a = 0.45 + np.array(shifts)
    s_ln = np.array(u) / 0.2 / a
    (slope, _), scaled = np.polyfit(1 / (temperatures + 273.15), np.log(a), 1, w=1 / s_ln, cov="unscaled")
    misses = np.log(a) - np.polyval((slope, _), 1 / (temperatures + 273.15))
    ratio = max(1.0, float(np.sum((misses / s_ln) ** 2)))
    assert found.value_kj_mol == pytest.approx(-R_KJ * slope, rel=1e-9)
    assert found.u_kj_mol == pytest.approx(R_KJ * math.sqrt(scaled[0, 0] * ratio), rel=1e-6)


def oswin(temperature_c: float, seed: int) -> Fit:
    """A fitted isotherm of an invented bar."""
    a_w = np.linspace(0.1, 0.9, 14)
    scatter = stats.norm.rvs(scale=0.004, size=14, random_state=seed)
    x = (0.112 - 0.00062 * temperature_c) * (a_w / (1 - a_w)) ** 0.49 * (1 + scatter)
    return fit(Points(a_w, x, temperature_c=temperature_c, product="soft bar", formula_version="3"), "oswin")


def as_curve(one: Fit, temperature_c: float) -> KeptCurve:
    """The same fit as it would be kept: curve, slope and u from the covariance."""

    def u(a: float) -> float:
        rows = one.curve(a)[2:, 0]
        return float(np.sqrt(rows @ one.covariance @ rows))

    low, high = one.points.a_w.min(), one.points.a_w.max()
    return KeptCurve(
        temperature_c,
        (low, high),
        (float(one.moisture(low)), float(one.moisture(high))),
        lambda a: float(one.moisture(a)),
        lambda x: float(one.water_activity(x)),
        lambda a: float(one.slope(a)),
        u,
        float(one.dof),
    )


@pytest.mark.parametrize(("from_c", "to_c"), [(25.0, 20.0), (15.0, 35.0)])
def test_both_roads_lead_to_one_heat(from_c: float, to_c: float) -> None:
    fits = [oswin(15.0, 1), oswin(35.0, 2)]
    there = heat_from_isotherms(fits, 0.65, from_c, to_c, u_a_w=0.002)
    kept = tuple(as_curve(one, t) for one, t in zip(fits, (15.0, 35.0), strict=True))
    curves = CurveSet(kept, "soft bar", "3", source="isotherms of soft bar 3")
    here = heat_from_curves(curves, 0.65, from_c, to_c, u_a_w=0.002)
    assert here.value_kj_mol == pytest.approx(there.value_kj_mol, rel=1e-6)
    assert here.u_kj_mol == pytest.approx(there.u_kj_mol, rel=1e-4)
    assert here.dof == pytest.approx(there.dof, rel=1e-3)
    assert here.moisture_db == pytest.approx(there.moisture_db, rel=1e-6)
    assert here.a_w == there.a_w
    reading = BenchReading(0.65, 0.002, from_c, product="soft bar", formula_version="3")
    assert restate(reading, to_c, here).value == pytest.approx(restate(reading, to_c, there).value or 0.0, abs=1e-7)


def test_one_temperature_gives_no_heat() -> None:
    for curves in ((), (line(25.0),), (line(25.0), line(25.0))):
        with pytest.raises(InputError, match="two temperatures or more"):
            heat_from_curves(CurveSet(curves), 0.5, 25.0, 30.0)


@pytest.mark.parametrize(("a_w", "from_c", "to_c"), [(0.95, 15, 35), (0.05, 15, 35), (0.5, 10, 35), (0.5, 15, 40)])
def test_nothing_is_said_beyond_the_isotherms(a_w: float, from_c: float, to_c: float) -> None:
    with pytest.raises(RangeError):
        heat_from_curves(CurveSet((line(15.0), line(35.0, shift=0.05))), a_w, from_c, to_c)


def test_a_moisture_that_one_temperature_does_not_reach_is_refused() -> None:
    with pytest.raises(RangeError, match="common to all temperatures"):
        heat_from_curves(CurveSet((line(15.0), line(35.0, shift=0.1))), 0.89, 15.0, 35.0)
    with pytest.raises(InputError, match="share a range"):
        heat_from_curves(CurveSet((line(15.0), line(35.0, shift=0.9))), 0.5, 15.0, 35.0)


def test_the_other_branch_is_named() -> None:
    curves = CurveSet((line(15.0), line(35.0, shift=0.05)), direction="adsorption")
    assert "a sample that has dried since" in heat_from_curves(curves, 0.5, 15.0, 35.0).remarks[0]
