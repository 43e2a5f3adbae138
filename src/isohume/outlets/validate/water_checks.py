"""The rows of water.csv as outside checks: pressure over water and ice, dew point, mismatch, latent heat.

Where a row was computed with the formulation that we use, the tolerance is half its last printed digit. Where
it was computed with IAPWS-95, of which the reference form is a short form, the tolerance is the uncertainty
that the row states; where that speaks of the arithmetic only, the difference of the two forms is added to it.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from decimal import Decimal

from isohume.foundation import water
from isohume.outlets.validate.check import Check, Left, last_digit, read_table

FILE = "water.csv"
IAPWS_95 = 0.00025  # relative; column `uncertainty` of the rows of IAPWS-95
# relative; in the table itself the two are furthest apart at 10 degC: 1228.112 and 1228.199 Pa (W013, W011)
FORMULATIONS_APART = 0.000071
Row = dict[str, str]


def checks() -> Iterator[Check]:
    """Every row of the table that is a check of ours."""
    return (outcome for outcome in _outcomes() if isinstance(outcome, Check))


def left_out() -> Iterator[Left]:
    """Every row of the table that is none, with the reason."""
    return (outcome for outcome in _outcomes() if isinstance(outcome, Left))


def _outcomes() -> Iterator[Check | Left]:
    for row in read_table(FILE):
        if row["how"] == "memory" and not row["check"]:
            yield Left(row["id"], FILE, "from memory and confirmed by nothing")
        elif row["kind"] not in _BY_KIND:
            yield Left(row["id"], FILE, f"no check of kind {row['kind']} is known")
        else:
            yield _BY_KIND[row["kind"]](row)


def _check(row: Row, what: str, computed: float, tolerance: float, expected: float | None = None) -> Check:
    value = float(row["value"]) if expected is None else expected
    return Check(row["id"], what, row["source"], row["how"], value, computed, tolerance, FILE)


def _kelvin(celsius: str) -> float:
    # added as decimals: 373.9460 degC must not come out above the critical 647.096 K
    return float(Decimal(celsius) + Decimal("273.15"))


def _half(printed: str) -> float:
    return 0.5 * last_digit(printed)


def _pressure_over_water(row: Row) -> Check | Left:
    source, celsius, value = row["source"], row["t_C"], row["value"]
    kelvin = _kelvin(celsius)
    if source.startswith("ASHRAE"):
        reason = "the Hyland-Wexler equation is not implemented, and the row states no difference from IAPWS"
        return Left(row["id"], FILE, reason)
    if source.startswith("Magnus"):
        return _magnus(row, kelvin)
    if source.startswith("IAPWS-IF97"):
        what = f"saturation pressure, fast form, {celsius} degC [Pa]"
        return _check(row, what, water.saturation_pressure_fast(kelvin), _half(value))
    what = f"saturation pressure, reference form, {celsius} degC [Pa]"
    computed = water.saturation_pressure(kelvin)
    if source.startswith("IAPWS-95"):
        return _check(row, what, computed, IAPWS_95 * float(value))
    return _check(row, what, computed, _half(value))


def _magnus(row: Row, kelvin: float) -> Check | Left:
    stated = re.search(r"differs from IAPWS-95 by ([+-][\d.]+) %", row["check"])
    if not stated:
        return Left(row["id"], FILE, "the Magnus form is not implemented, and the row states no difference")
    what = f"printed Magnus pressure against the reference form, {row['t_C']} degC [%]"
    computed = 100.0 * (float(row["value"]) / water.saturation_pressure(kelvin) - 1.0)
    tolerance = 100.0 * FORMULATIONS_APART + _half(stated[1])
    return _check(row, what, computed, tolerance, expected=float(stated[1]))


def _verification_value(row: Row) -> Check:
    kelvin, source = _kelvin(row["t_C"]), row["source"]
    if source.startswith("IAPWS-IF97"):
        # the table's column holds degC with the noise of a subtraction; the release prints whole kelvins
        kelvin = round(kelvin, 6)
        what = f"saturation pressure, fast form, {kelvin:g} K [MPa]"
        return _check(row, what, water.saturation_pressure_fast(kelvin) / 1e6, _half(row["value"]))
    what = f"saturation pressure, reference form, {row['t_C']} degC [Pa]"
    return _check(row, what, water.saturation_pressure(kelvin), _half(row["value"]))


def _pressure_over_ice(row: Row) -> Check:
    what = f"sublimation pressure, {row['t_C']} degC [Pa]"
    return _check(row, what, water.sublimation_pressure(_kelvin(row["t_C"])), _half(row["value"]))


def _a_w_of_ice(row: Row) -> Check:
    what = f"water activity of ice, {row['t_C']} degC [1]"
    tolerance = float(row["uncertainty"].split()[0])
    return _check(row, what, water.a_w_of_ice(_kelvin(row["t_C"])), tolerance)


def _dew_point(row: Row) -> Check:
    what = f"dew point at a_w {row['rh_or_aw']} and {row['t_C']} degC [degC]"
    dew = water.dew_point(float(row["rh_or_aw"]), _kelvin(row["t_C"])) - 273.15
    return _check(row, what, dew, float(row["uncertainty"]))


def _frost_point(row: Row) -> Check | Left:
    # the row gives two libraries' figures for humid air; their difference is its only uncertainty
    other = re.search(r"-?[\d.]+$", row["check"])
    if not other:
        return Left(row["id"], FILE, "no second figure and no uncertainty to take a tolerance from")
    what = f"frost point at a_w {row['rh_or_aw']} and {row['t_C']} degC [degC]"
    frost = water.frost_point(float(row["rh_or_aw"]), _kelvin(row["t_C"])) - 273.15
    return _check(row, what, frost, abs(float(row["value"]) - float(other[0])))


def _a_w_from_dew_point(row: Row) -> Check:
    what = f"a_w from a dew point of {row['rh_or_aw']} degC at {row['t_C']} degC [1]"
    computed = water.a_w_from_dew_point(_kelvin(row["rh_or_aw"]), _kelvin(row["t_C"]))
    # the row's 1e-5 is the arithmetic of one formulation; ours is the other one
    return _check(row, what, computed, float(row["uncertainty"]) + FORMULATIONS_APART * float(row["value"]))


def _sensitivity(row: Row) -> Check | Left:
    warmer = re.search(r"([\d.]+) degC warmer", row["units"])
    if not warmer:
        return Left(row["id"], FILE, "the temperature difference is not stated")
    a_w, kelvin = float(row["rh_or_aw"]), _kelvin(row["t_C"])
    what = f"a_w {row['rh_or_aw']} read at {row['t_C']} degC, surface {warmer[1]} K warmer: change [1]"
    change = water.mismatch_error(a_w, kelvin, kelvin + float(warmer[1]))
    return _check(row, what, change, last_digit(row["value"]))


def _warmer_sensor(row: Row) -> Check:
    before, after = (_kelvin(celsius) for celsius in row["t_C"].split("->"))
    a_w = float(row["rh_or_aw"])
    what = f"relative humidity {row['rh_or_aw']} of the air when the sensor goes {row['t_C']} degC [1]"
    return _check(row, what, a_w + water.mismatch_error(a_w, before, after), _half(row["value"]))


def _latent_heat(row: Row) -> Check:
    what = f"latent heat of vaporisation, {row['t_C']} degC [kJ/mol]"
    # the latent heat is proportional to dp/dT, so the pressure's 0.025 % passes on to it
    tolerance = _half(row["value"]) + IAPWS_95 * float(row["value"])
    return _check(row, what, water.latent_heat(_kelvin(row["t_C"])) / 1000.0, tolerance)


_BY_KIND: dict[str, Callable[[Row], Check | Left]] = {
    "p_sat_water": _pressure_over_water,
    "verification_value": _verification_value,
    "p_sat_ice": _pressure_over_ice,
    "aw_of_ice": _a_w_of_ice,
    "dew_point_from_aw": _dew_point,
    "frost_vs_dew": _frost_point,
    "aw_from_dew_point": _a_w_from_dew_point,
    "sensitivity": _sensitivity,
    "p_sat_effect": _warmer_sensor,
    "latent_heat": _latent_heat,
}
