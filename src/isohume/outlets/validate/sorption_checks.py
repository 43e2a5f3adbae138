"""The rows of isotherms.csv and isotherm_params.csv as outside checks: curves, constants at a temperature, heats, fits.

The tolerance is half the last printed digit. Constants are read from the same tables, so a row that was computed from
them checks our equation, its units and its inverse, and not the constants: whether they are right for the grain is
what a measured table says (sorption_measured_checks).
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator
from functools import cache

import numpy as np

from isohume.foundation.metrology import unweighted_line
from isohume.foundation.water import latent_heat
from isohume.outlets.validate.check import Check, Left, last_digit, read_table
from isohume.product.sorption import Fit, Points, fit
from isohume.product.sorption.catalogue import place_of
from isohume.product.sorption.evaluation import curve_of, inverse_of
from isohume.product.sorption.net_heat import GAS_KJ_MOL_K, ZERO_C_IN_K, net_heat_between

FILE, CONSTANTS = "isotherms.csv", "isotherm_params.csv"
Row = dict[str, str]
Value = tuple[str, float, float, float]  # what, printed, computed, tolerance

WATER_G_MOL = 18.015
# 0.05 % moisture is what the wood equation promises of the handbook's table, beside the table's own rounding
WOOD_PERCENT = 0.05
# the handbook's quadratics of temperature in degC
WOOD = ((349.0, 1.29, 0.0135), (0.805, 0.000736, -0.00000273), (6.27, -0.00938, -0.000303), (1.91, 0.0407, -0.000293))
_EXACT = ("monolayer_db", "c", "k")


def checks() -> Iterator[Check]:
    """Every row of the two tables that is a check of ours."""
    return (outcome for outcome in _outcomes() if isinstance(outcome, Check))


def left_out() -> Iterator[Left]:
    """Every row of the two tables that is none, with the reason."""
    return (outcome for outcome in _outcomes() if isinstance(outcome, Left))


@cache
def rows_of(table: str) -> list[Row]:
    """The rows of a published table, read once."""
    return read_table(table)


@cache
def rows_of_set(set_id: str) -> list[Row]:
    """The points of a measured set as printed."""
    return [row for row in rows_of("measured_points.csv") if row["set_id"] == set_id]


def moisture_percent(key: str, values: Iterable[float], a_w: float, celsius: float) -> float:
    """Moisture [% dry basis] by a model of the catalogue."""
    p, t = np.array(list(values)), np.array([celsius + ZERO_C_IN_K])
    return 100.0 * float(curve_of(place_of(key), np.array([a_w]), t, p)[0, 0])


def water_activity(key: str, values: Iterable[float], moisture_db: float, celsius: float) -> float:
    """The a_w of a moisture [kg/kg] by a model of the catalogue."""
    p, t = np.array(list(values)), np.array([celsius + ZERO_C_IN_K])
    return float(inverse_of(place_of(key), np.array([moisture_db]), t, p, 1e-4, 0.999)[0])


def wood_percent(a_w: float, celsius: float) -> float:
    """Moisture of wood [% dry basis] by the handbook's equation at a temperature."""
    return moisture_percent(
        "hailwood_horrobin_two", (a + b * celsius + c * celsius**2 for a, b, c in WOOD), a_w, celsius
    )


def half(printed: str) -> float:
    """Half of the last printed digit."""
    return 0.5 * last_digit(printed)


def value(what: str, printed: str, computed: float) -> Value:
    """A printed number beside the computed one."""
    return (what, float(printed), computed, half(printed))


def worst(row: Row, file: str, what: str, values: Iterable[Value]) -> Check:
    """One check of a row of several numbers: the one that is furthest off for its tolerance."""
    name, printed, computed, tolerance = max(values, key=lambda one: abs(one[2] - one[1]) / one[3])
    source, how = row.get("source", row.get("model", "")), row.get("how", "computed")
    return Check(row["id"], f"{what}: {name}", source, how, printed, computed, tolerance, file)


def _outcomes() -> Iterator[Check | Left]:
    for row in rows_of(FILE):
        if row["how"] == "memory" and not row["check"]:
            yield Left(row["id"], FILE, "from memory and confirmed by nothing")
        else:
            yield _BY_KIND[row["kind"]](row)
    yield from (_constants(row) for row in rows_of(CONSTANTS))


@cache
def _constants_of() -> dict[tuple[str, str], Row]:
    """The first printed constants of a product and model."""
    found: dict[tuple[str, str], Row] = {}
    for row in rows_of(FILE):
        if row["kind"] == "params":
            found.setdefault((row["product"], row["model"]), row)
    return found


def _four(row: Row) -> tuple[float, ...]:
    return tuple(float(row[name]) for name in ("p1", "p2", "p3", "p4") if row[name])


def model_and_values(row: Row) -> tuple[str, tuple[float, ...]]:
    """The model of the catalogue and its parameters, from a row of printed constants."""
    if row["model"] == "GAB with temperature":
        pairs = _arrhenius(row)
        return "gab_arrhenius", tuple(
            number for factor, over_t in pairs for number in (float(factor), float(over_t) * GAS_KJ_MOL_K)
        )
    if row["model"] == "modified Oswin":
        a, b, power = _four(row)
        return "modified_oswin", (a, b, 1.0 / power)  # the standard prints the power's inverse as C
    keys = {
        "modified Henderson": "modified_henderson",
        "modified Chung-Pfost": "modified_chung_pfost",
        "Oswin with temperature": "oswin_linear",
        "GAB": "gab",
    }
    return keys[row["model"]], _four(row)


def _arrhenius(row: Row) -> list[tuple[str, str]]:
    """Factor and coefficient of 1/T of the three constants of GAB, as printed."""
    found = (re.search(r"=([\d.e+-]+) exp\((-?[\d.]+)/T\)", row[name]) for name in ("p1", "p2", "p3"))
    return [(one[1], one[2]) for one in found if one]


def _of_product(row: Row) -> tuple[str, tuple[float, ...]]:
    model = "GAB with temperature" if row["model"].startswith("GAB") else row["model"]
    return model_and_values(_constants_of()[row["product"], model])


def _check_value(row: Row) -> Check:
    if row["model"] == "GAB constants at t":
        return _gab_at_temperature(row)
    if row["model"].startswith("net isosteric heat"):
        return _heat(row)
    key, values = _of_product(row)
    computed = moisture_percent(key, values, float(row["aw"]), float(row["t_C"]))
    computed *= 1.0 if row["units"] == "% d.b." else 0.01
    what = f"{row['product']}, {row['model']}, {row['t_C']} degC"
    return worst(row, FILE, what, [value(f"moisture at a_w {row['aw']} [{row['units']}]", row["moisture"], computed)])


def _gab_at_temperature(row: Row) -> Check:
    """GAB fitted to points of the curve over temperature gives the constants of that temperature."""
    key, values = _of_product(row)
    a_w, celsius = np.linspace(0.05, 0.9, 12), float(row["t_C"])
    points = Points(a_w, [0.01 * moisture_percent(key, values, float(a), celsius) for a in a_w])
    found = fit(points, "gab").parameters
    what = f"{row['product']}, GAB fitted to its curve at {row['t_C']} degC"
    compared = []
    printed = _arrhenius(_constants_of()[row["product"], "GAB with temperature"])
    for name, p, (_, over_t) in zip(_EXACT, ("p1", "p2", "p3"), printed, strict=True):
        # the coefficient of 1/T is printed rounded too, which moves the constant by its share
        rounded = float(row[p]) * half(over_t) / (celsius + ZERO_C_IN_K)
        compared.append((name, float(row[p]), found[name], half(row[p]) + rounded))
    return worst(row, FILE, what, compared)


def _heat(row: Row) -> Check:
    key, values = model_and_values(_constants_of()[row["product"], "modified Oswin"])
    cold, warm = (water_activity(key, values, 0.01 * float(row["moisture"]), celsius) for celsius in (15.0, 35.0))
    printed = row["aw"].split(" / ")
    what = f"{row['product']}, modified Oswin at 15 and 35 degC, {row['moisture']} % d.b."
    return worst(
        row,
        FILE,
        what,
        [
            value("a_w at 15 degC", printed[0], cold),
            value("a_w at 35 degC", printed[1], warm),
            value("net isosteric heat [kJ/mol]", row["p1"], float(net_heat_between(cold, 15.0, warm, 35.0))),
        ],
    )


def _params(row: Row) -> Check | Left:
    for start, check in _BY_CHECK.items():
        if row["check"].startswith(start):
            return check(row)
    if any(other["product"] == row["product"] and other["kind"] == "check_value" for other in rows_of(FILE)):
        return Left(row["id"], FILE, "constants; the rows computed from them are checks")
    return Left(row["id"], FILE, "constants without points or a value of their curve: nothing to compare with")


def _against_other_model(row: Row) -> Check:
    """The printed EMC of two equations of one grain at 25 degC."""
    found = []
    for a_w, first, second in re.findall(r"(0\.\d):([\d.]+)/([\d.]+)", row["check"]):
        for model, printed in (("modified Henderson", first), ("modified Chung-Pfost", second)):
            key, values = model_and_values(_constants_of()[row["product"], model])
            computed = moisture_percent(key, values, float(a_w), 25.0)
            found.append(value(f"{model} at a_w {a_w} [% d.b.]", printed, computed))
    return worst(row, FILE, f"{row['product']}, EMC at 25 degC by two equations", found)


def _one_point(row: Row) -> Check:
    printed = row["check"].split("= ")[1]
    computed = moisture_percent(*model_and_values(row), 0.7, 25.0)
    return worst(row, FILE, f"{row['product']}, {row['model']}", [value("M at 25 degC, 70 % RH", printed, computed)])


def _half_way(row: Row) -> Check:
    computed = 0.01 * moisture_percent(*model_and_values(row), 0.5, 25.0)
    return worst(row, FILE, row["product"], [value("X at a_w 0.5 [kg/kg]", "0.3298", computed)])


def _four_constants(row: Row) -> Check:
    """At one temperature the four constants are two of Henderson's: A (T - c)^n for moisture in %, and B."""
    factor, start, power, b = _four(row)
    a = factor * (40.0 + ZERO_C_IN_K - start) ** power * 100.0**b
    computed = water_activity("henderson", (a, b), 0.10, 40.0)
    return worst(
        row, FILE, f"{row['product']}, {row['model']}", [value("a_w at 40 degC, 10 % d.b.", "0.1901", computed)]
    )


def _pole(row: Row) -> Check:
    """A fit to points of the printed curve finds the pole again: beyond its admissible range where K is above 1."""
    a_w = np.linspace(0.1, 0.85, 12)
    points = Points(a_w, [0.01 * moisture_percent("gab", _four(row), float(a), 25.0) for a in a_w])
    found = fit(points, "gab")
    k = (found.unconstrained or found.parameters)["k"]
    printed = row["check"].split("= ")[-1]
    return worst(row, FILE, f"{row['product']}, {row['t_C']} degC", [value("a_w of the pole of GAB", printed, 1.0 / k)])


def _wood(row: Row) -> Check:
    celsius = (70.0 - 32.0) / 1.8
    found = [
        value(f"moisture at 70 degF and {percent} % [%]", printed, wood_percent(float(percent) / 100.0, celsius))
        for percent, printed in re.findall(r"(\d+) % -> ([\d.]+)", row["check"])
    ]
    return worst(row, FILE, "wood, equation of the handbook", found)


_BY_CHECK: dict[str, Callable[[Row], Check]] = {
    "25 degC EMC vs": _against_other_model,
    "25 degC, 70 % RH": _one_point,
    "aw 0.5 ->": _half_way,
    "40 degC, M=10": _four_constants,
    "model pole": _pole,
    "70 degF": _wood,
}


def _published(row: Row) -> Check | Left:
    if row["model"] == "EMC table":
        # the row's own check says what the equation gives; a page that prints 14.9 for 15.00 is explained in the docs
        printed = row["check"].removeprefix("equation gives ")
        computed = wood_percent(float(row["aw"]), float(row["t_C"]))
        return worst(
            row, FILE, "wood, equation of the handbook", [value(f"moisture at a_w {row['aw']} [%]", printed, computed)]
        )
    if row["units"].startswith("J/g at"):
        printed = row["notes"].split()[1]
        return worst(
            row, FILE, row["product"], [value("net heat [kJ/mol]", printed, float(row["p1"]) * WATER_G_MOL / 1000.0)]
        )
    if row["model"].startswith("isosteric heat"):
        return _net_or_total(row)
    if row["model"].startswith("certified"):
        return Left(row["id"], FILE, "the certified values themselves were not found")
    return Left(row["id"], FILE, "a measured value without other points or constants: nothing to compare with")


def _net_or_total(row: Row) -> Check:
    """A heat below that of vaporisation can only be a net heat, whatever the heading says; above it, a total one."""
    least = min(float(one) for one in row["p1"].split(" to "))
    vaporisation = float(latent_heat(25.0 + ZERO_C_IN_K)) / 1000.0
    expected = "net" if "NET" in row["notes"] else "total"
    computed = "net" if least < vaporisation else "total"
    what = f"{row['product']}: {row['p1']} kJ/mol against the heat of vaporisation"
    return Check(row["id"], what, row["source"], row["how"], expected, computed, 0.0, FILE)


@cache
def _exact() -> tuple[list[Row], Fit]:
    rows = [row for row in rows_of(FILE) if row["kind"] == "fit_target_exact" and row["aw"]]
    return rows, fit(Points([float(row["aw"]) for row in rows], [float(row["moisture"]) for row in rows]), "gab")


def _target(row: Row) -> Check:
    rows, found = _exact()
    if not row["aw"]:
        return _bet_line(row, rows)
    what = "GAB fitted to ten exact points"
    moisture = float(found.moisture(float(row["aw"])))
    values = [(name, float(row[p]), found.parameters[name]) for name, p in zip(_EXACT, ("p1", "p2", "p3"), strict=True)]
    relative = [(name, printed, computed, 1e-6 * printed) for name, printed, computed in values]
    return worst(row, FILE, what, [*relative, value(f"moisture at a_w {row['aw']}", row["moisture"], moisture)])


def _bet_line(row: Row, rows: list[Row]) -> Check:
    """The straight line of BET over a_w 0.113 to 0.432: a/((1 - a) X) on a."""
    low = [(float(one["aw"]), float(one["moisture"])) for one in rows if float(one["aw"]) <= 0.432]
    line = unweighted_line([a for a, _ in low], [a / ((1.0 - a) * x) for a, x in low])
    monolayer = 1.0 / (line.slope + line.offset)
    c = line.slope / line.offset + 1.0
    return worst(row, FILE, row["model"], [value("monolayer [kg/kg]", row["p1"], monolayer), value("C", row["p2"], c)])


def _constants(row: Row) -> Check | Left:
    if row["set_id"].startswith("pasta"):
        found = fit(points_of(row["set_id"]), "gab").parameters
        values = [value(name, row[p], found[name]) for name, p in zip(_EXACT, ("p1", "p2", "p3"), strict=True)]
        return worst(row, CONSTANTS, f"{row['product']}, {row['t_C']} degC, GAB", values)
    return Left(row["id"], CONSTANTS, _WHY_NOT.get(row["id"], "constants without points: nothing to compare with"))


_WHY_NOT = {
    "PR011": "refit of I0298 by its transcriber; without points",
    "PR013": "the constants of I0296, which is a check",
    "PR014": "the constants of I0277 with heats in kJ/mol, whose rows are checks",
    "PR019": "the constants of the wood equation, whose table is checked point by point",
    "PR026": "checked on the soybean table, point by point",
    "PR027": "checked on the durum wheat table, point by point",
    "PR028": "the constants of I0002, whose rows are checks",
    "PR029": "the constants of I0003, whose rows are checks",
    "PR030": "the constants of I0005, whose rows are checks",
    "PR034": "a solution, not a sorption isotherm",
}


def points_of(set_id: str, how_many: int | None = None) -> Points:
    """The first points of a measured set, all where no number is given, with moisture in kg/kg."""
    rows = rows_of_set(set_id)[:how_many]
    return Points([float(row["aw"]) for row in rows], [0.01 * float(row["moisture_db_pct"]) for row in rows])


_BY_KIND: dict[str, Callable[[Row], Check | Left]] = {
    "params": _params,
    "check_value": _check_value,
    "published_value": _published,
    "fit_target_exact": _target,
}
