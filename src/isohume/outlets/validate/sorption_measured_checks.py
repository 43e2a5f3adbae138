"""The measured sorption sets as outside checks: fits by others, tables of grain and wood, what must be refused.

`measured_sets.csv` names every set once. Points that somebody fitted are checked through those fits
(isotherm_refits.csv); tables whose equation is known are checked point by point (measured_points.csv); sets with a
step must be given no model.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator

import numpy as np

from isohume.foundation.metrology import unweighted_line
from isohume.foundation.water import saturation_pressure
from isohume.outlets.validate.check import Check, Left
from isohume.outlets.validate.sorption_checks import (
    WOOD_PERCENT,
    Row,
    Value,
    half,
    moisture_percent,
    points_of,
    rows_of,
    rows_of_set,
    value,
    wood_percent,
    worst,
)  # fmt: skip
from isohume.product.sorption import Points, choose, fit, fit_panel
from isohume.product.sorption.net_heat import GAS_KJ_MOL_K, ZERO_C_IN_K

SETS, POINTS, REFITS = "measured_sets.csv", "measured_points.csv", "isotherm_refits.csv"
MMOL = 0.01801528  # kg of water per kg in 1 mmol/g
# sets with a step; the certified carbon is one in every laboratory
STEPS = ("bam_", "carbon_sorbonorit4_20", "aqsoa_", "mil160_", "mof_rh_UiO-66", "mof_rh_DMOF-1")
PLAIN = ("mof_rh_DMOF-1-NH2",)  # begins like a step set, and is none
# C grew without end there (a Langmuir curve: only C K is determined) or the monolayer did: the printed numbers are the
# ends of that search, and what can be compared is how close the curve comes
ENDLESS = (
    "silica03_20",
    "carbon_sorbonorit4_20",
    "zeolite13X_75",
    "mil160_",
    "mof_rh_UiO-66",
    "mof_rh_DMOF-1",
    "mof_rh_CuBTC",
)
# two of these searches stopped short of their optimum, at K = 0.0001 and at K = 0.001: ours comes closer to the points
STOPPED = ("mil160_30", "mof_rh_DMOF-1")
NOTHING = 1e-9  # what stood for the empty zeolite where logarithms were interpolated
_GRAIN: dict[str, tuple[str, tuple[float, ...]]] = {
    "grain_soybean": ("modified_halsey", (2.87, -0.0054, 1.38)),
    "grain_durum": ("modified_oswin", (13.101, -0.052626, 2.9987)),
    "grain_corn": ("modified_henderson", (8.6541e-5, 1.8634, 49.81)),
    "grain_long": ("modified_henderson", (1.9187e-5, 2.4451, 51.161)),
    "grain_sorghum": ("modified_henderson", (8.532e-6, 2.4757, 113.725)),
}
_BY_POINT = ("grain_soybean", "grain_durum", "wood_table_values")
_REACH = 0.9  # where the largest a_w goes for a fit whose K lies far above 1


def checks() -> Iterator[Check]:
    """Every fit, table and set that is a check of ours."""
    return (outcome for outcome in _outcomes() if isinstance(outcome, Check))


def left_out() -> Iterator[Left]:
    """Every set that is none, with the reason."""
    return (outcome for outcome in _outcomes() if isinstance(outcome, Left))


def _outcomes() -> Iterator[Check | Left]:
    yield from (_set(row) for row in rows_of(SETS))
    yield from (_point(row) for row in rows_of(POINTS) if row["set_id"] in _BY_POINT)
    yield from _wood_grid()
    yield from (_refit(row) for row in rows_of(REFITS))


def _source(set_id: str) -> Row:
    return next(row for row in rows_of(SETS) if row["set_id"] == set_id)


def is_step(set_id: str) -> bool:
    """Whether a set must be given no model."""
    return set_id.startswith(STEPS) and set_id not in PLAIN


def _set(row: Row) -> Check | Left:
    set_id = row["set_id"]
    if not is_step(set_id):
        return Left(set_id, SETS, _WHY_NOT.get(set_id.split("_")[0], "checked through the fits made to its points"))
    choice = choose(fit_panel(points_of(set_id)))
    computed = "no model" if choice.recommended is None else choice.recommended
    what = f"{row['product']}, {set_id}: {choice.reasons[0]}"
    return Check(set_id, what, row["source"], row["how"], "no model", computed, 0.0, SETS)


_WHY_NOT = {
    "grain": "checked point by point, or by how far its equation misses it",
    "wood": "checked point by point",
}


def _point(row: Row) -> Check:
    whole = _source(row["set_id"])
    if row["set_id"].startswith("wood"):
        computed, tolerance = wood_percent(float(row["aw"]), float(row["t_C"])), half(row["moisture"]) + WOOD_PERCENT
    else:
        # tables of a handbook, smoothed by hand: one digit of slack beside the rounding, on wet basis
        computed, tolerance = _grain_wet(row), 0.05 + half(row["moisture"])
    what = f"{whole['product']}, {row['t_C']} degC, a_w {row['aw']} [%, {whole['basis'].split()[0]} basis]"
    return Check(row["id"], what, whole["source"], whole["how"], float(row["moisture"]), computed, tolerance, POINTS)


def _grain_wet(row: Row) -> float:
    key, values = _GRAIN[row["set_id"]]
    dry = moisture_percent(key, values, float(row["aw"]), float(row["t_C"]))
    return 100.0 * dry / (100.0 + dry)


def _wood_grid() -> Iterator[Check]:
    """The handbook's grid, one check a temperature."""
    whole = _source("wood_hh")
    rows = rows_of_set("wood_hh")
    for celsius in dict.fromkeys(row["t_C"] for row in rows):
        part = [row for row in rows if row["t_C"] == celsius]
        # the grid's temperatures are whole degF, printed here to 0.01 degC
        exact = (round(1.8 * float(celsius) + 32.0) - 32.0) / 1.8
        values = [value(f"a_w {row['aw']} [%]", row["moisture"], wood_percent(float(row["aw"]), exact)) for row in part]
        first = {**whole, "id": part[0]["id"]}
        yield worst(first, POINTS, f"wood at {celsius} degC, {len(part)} points from {part[0]['id']}", values)


def _refit(row: Row) -> Check | Left:
    return next(check for start, check in _BY_MODEL.items() if row["model"].startswith(start))(row)


def _numbers(text: str) -> dict[str, str]:
    return dict(re.findall(r"(\w+)=([\d.]+(?:e[+-]\d+)?)", text))


def _said(row: Row, what: str, values: list[Value]) -> Check:
    whole = _source(row["set_id"])
    said = {**row, "source": f"refit of {whole['source']}", "how": "computed"}
    return worst(said, REFITS, f"{row['set_id']}, {what}", values)


def _pasta_gab(row: Row) -> Check:
    found = fit(points_of(row["set_id"]), "gab")
    printed, errors = _numbers(row["refit"]), row["refit"].split("(se ")[1].rstrip(")").split()
    names = (("m0", "monolayer_db"), ("C", "c"), ("K", "k"))
    values = [value(name, printed[short], found.parameters[name]) for short, name in names]
    values += [value(f"u({name})", text, found.u[name] or 0.0) for (_, name), text in zip(names, errors, strict=True)]
    stat = _numbers(row["stat"])
    values.append(value("root mean square deviation", stat["RMSE"], float(np.sqrt(found.sse / found.n))))
    values.append(value("mean relative deviation [%]", row["stat"].split("dev ")[1].split()[0], found.mrd_percent))
    return _said(row, "GAB", values)


def _pasta_oswin(row: Row) -> Check:
    points = points_of(row["set_id"])
    found = fit(points, "oswin")
    printed, line = _numbers(row["refit"]), _numbers(row["reference"])
    values = [value("A", printed["A"], found.parameters["a"]), value("B", printed["B"], found.parameters["b"])]
    deviation = float(np.sqrt(found.sse / found.n))
    values.append(value("root mean square deviation", _numbers(row["stat"])["RMSE"], deviation))
    celsius = float(row["set_id"].split("_")[1])
    constants = (0.154, -0.00122, 0.078, 0.00732)
    a, b = constants[0] + constants[1] * celsius, constants[2] + constants[3] * celsius
    values += [value("A of the published line", line["A"], a), value("B of the published line", line["B"], b)]
    drawn = np.array([0.01 * moisture_percent("oswin_linear", constants, float(one), celsius) for one in points.a_w])
    missed = float(np.sqrt(np.mean((points.moisture_db - drawn) ** 2)))
    values.append(value("deviation of the published line", _numbers(row["agreement"])["RMSE"], missed))
    return _said(row, "Oswin", values)


def _bounded_gab(row: Row) -> Check:
    """GAB without a bound on K: fitted with a_w drawn to 0.9, which divides K by the same and changes no more."""
    set_id = row["set_id"]
    points = points_of(set_id, int(row["n"]))
    stretch = _REACH / float(points.a_w.max())
    unit = 1.0 if _source(set_id)["units"].startswith("g/g") else MMOL
    found = fit(Points(points.a_w * stretch, points.moisture_db / unit), "gab")
    printed = _numbers(row["refit"])
    spread = float(np.sum((found.points.moisture_db - found.points.moisture_db.mean()) ** 2))
    r2 = f"{float(printed['R2']):.4f}"
    drawn = np.array([0.01 * moisture_percent("gab", _three(printed), float(a), 25.0) for a in points.a_w])
    missed = float(np.sum((points.moisture_db / unit - drawn) ** 2))
    values = [value("R2 of the printed curve", r2, 1.0 - missed / spread)]
    if set_id not in STOPPED:
        values.append(value("R2 of the fit", r2, 1.0 - found.sse / spread))
    if not set_id.startswith(ENDLESS) or set_id in PLAIN:
        k = found.parameters["k"] * stretch
        ours = {"m0": found.parameters["monolayer_db"], "C": found.parameters["c"], "K": k}
        values += [(name, float(printed[name]), one, _four_digits(printed[name])) for name, one in ours.items()]
    return _said(row, "GAB without a bound on K", values)


def _three(printed: dict[str, str]) -> tuple[float, ...]:
    return tuple(float(printed[name]) for name in ("m0", "C", "K"))


def _four_digits(printed: str) -> float:
    """One unit of the fourth digit: the numbers were printed with four and the search stopped near its optimum."""
    return float(10.0 ** (np.floor(np.log10(float(printed))) - 3.0))


def _wood_table(row: Row) -> Check:
    """The largest difference of the equation from a set of the table, as the row states it."""
    rows = rows_of_set(row["set_id"])
    stated = re.findall(r"\d+\.\d+", row["refit"])
    parts = [rows] if len(stated) == 1 else [[one for one in rows if one["t_C"] == t] for t in ("21.11", "-1.11")]
    values = []
    for part, text in zip(parts, stated, strict=True):
        off = [wood_percent(float(one["aw"]), _whole_fahrenheit(one["t_C"])) - float(one["moisture"]) for one in part]
        values.append(value(f"largest difference of {len(part)} [%]", text, max(map(abs, off))))
    return _said(row, "equation minus table", values)


def _whole_fahrenheit(celsius: str) -> float:
    return (round(1.8 * float(celsius) + 32.0) - 32.0) / 1.8 if "." in celsius else float(celsius)


def _grain_table(row: Row) -> Check:
    """How far the standard's equation misses the table on wet basis, as the row states it."""
    rows = rows_of_set(row["set_id"])
    off = [_grain_wet(one) - float(one["moisture"]) for one in rows]
    mean, most = re.findall(r"-?\d+\.\d+", row["refit"])
    values = [value("mean difference [points]", mean, float(np.mean(off)))]
    values.append(value("largest difference [points]", most, max(map(abs, off))))
    return _said(row, f"equation minus table, {len(rows)} points", values)


def _total_heat(row: Row) -> Check:
    """ln p on 1/T at constant loading, between points by straight lines of the logarithms."""
    family = row["set_id"].removesuffix("_all")
    values = []
    stated = re.findall(r"q=([\d.]+) mmol/g: ([\d.]+)\+/-([\d.]+) kJ/mol \((\d) T\)", row["refit"])
    for loading, heat, u, count in stated:
        inverse, log_p = _isostere(family, float(loading))
        line = unweighted_line(inverse, log_p)
        values.append(value(f"heat at {loading} mmol/g, {len(inverse)} temperatures", heat, -GAS_KJ_MOL_K * line.slope))
        values.append(value(f"u of the heat at {loading} mmol/g", u, GAS_KJ_MOL_K * line.u_slope))
        values.append((f"temperatures at {loading} mmol/g", float(count), float(len(inverse)), 0.5))
    first = next(one["set_id"] for one in rows_of(SETS) if one["set_id"].startswith(f"{family}_"))
    said = {**row, "source": f"refit of {_source(first)['source']}", "how": "computed"}
    return worst(said, REFITS, f"{family}, total heat [kJ/mol]", values)


def _isostere(family: str, loading: float) -> tuple[list[float], list[float]]:
    inverse, log_p = [], []
    for set_id in (one["set_id"] for one in rows_of(SETS)):
        if not set_id.startswith(f"{family}_"):
            continue
        rows = rows_of_set(set_id)
        kelvin = float(rows[0]["t_C"]) + ZERO_C_IN_K
        a, x = (np.array([float(one[name]) for one in rows]) for name in ("aw", "moisture"))
        if x.min() <= loading <= x.max():
            order = np.argsort(x, kind="stable")
            log_a, log_x = (np.log(np.maximum(each[order], NOTHING)) for each in (a, x))
            inverse.append(1.0 / kelvin)
            log_p.append(float(np.interp(np.log(loading), log_x, log_a)) + float(np.log(saturation_pressure(kelvin))))
    return inverse, log_p


_BY_MODEL: dict[str, Callable[[Row], Check | Left]] = {
    "GAB unweighted": _pasta_gab,
    "Oswin unweighted": _pasta_oswin,
    "GAB bounded": _bounded_gab,
    "equation minus": _wood_table,
    "ASAE": _grain_table,
    "isosteric heat": _total_heat,
}
