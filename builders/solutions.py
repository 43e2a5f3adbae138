"""Writes src/isohume/foundation/solutions/data/*.json: `python builders/solutions.py FOLDER`.

FOLDER holds the printed tables (saturated_salts.csv, unsaturated_solutions.csv, humectants.csv); what they
lack is in `builders/solutions_data`, with its source in the README there. Printed tables stay as printed: the
arithmetic (2:1 parameters divided by 4/3 and 2^(5/2)/3, molar masses, temperature terms) is done here. Same
input, same bytes.
"""

from __future__ import annotations

import csv
import json
import math
import re
import sys
from pathlib import Path
from typing import Any

MORE = Path(__file__).parent / "solutions_data"
TARGET = Path(__file__).parent.parent / "src" / "isohume" / "foundation" / "solutions" / "data"

# our key where the printed table writes the salt otherwise
KEYS = {"KCH3COO": "CH3COOK"}
REFUSED = {
    "NaI": "the table rows at hand are not smooth (residual 0.045 % RH), so a digit is wrong",
    "KF": "only four table rows are at hand, too few to test them",
    "CoCl2": "only four table rows are at hand, too few to test them",
    "K2CrO4": "only one table row is at hand, at 25 degC",
}
TRUNCATION = 0.011  # the 1977 table is truncated to 0.01 % RH: polynomial minus table lies in [0, 0.01)
FACTOR_BETA, FACTOR_C = 4.0 / 3.0, 2.0**2.5 / 3.0  # 2:1 parameters are printed multiplied by these
A_PHI, D_A_PHI_DT = 0.392, 6.7e-4  # (kg/mol)^(1/2) at 25 degC and per K; Pitzer1991, from memory
WATER = 0.0180153  # kg/mol
SIGMA_PHI_WITHOUT_TABLE = 0.004  # the upper end of "sigma(phi) about 0.001-0.004" of the 1973 rows
NO_SOURCE = "no source: largest of the 1:1 salts"
VERIFIED = {
    "Greenspan1977": "text",
    "Greenspan1977refit": "memory",
    # every constant read in a public transcription of tables I and VI; the highest molalities are from memory
    "PitzerMayorga1973": "text",
    "RobinsonStokes1959": "memory",
    "RobinsonStokes1961": "memory",
    "ChirifeFontanBenmergui1980": "text",
}

Row = dict[str, str]


def rows_of(path: Path) -> list[Row]:
    """The rows of a CSV file."""
    with path.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def write(name: str, content: dict[str, Any]) -> None:
    """One data file, keys as given, one line an entry."""
    lines = [f" {json.dumps(key)}: {json.dumps(value, ensure_ascii=False)}" for key, value in content.items()]
    (TARGET / f"{name}.json").write_text("{\n" + ",\n".join(lines) + "\n}\n", encoding="utf-8")


def printed_u(row: Row) -> float:
    """The figure of '+/-0.14 %RH (...)'."""
    found = re.match(r"\+/-([\d.]+)", row["uncertainty"])
    return float(found.group(1) if found else row["uncertainty"])


def polynomial(coefficients: list[float], at: float) -> float:
    """c0 + c1 x + c2 x² + ..."""
    return sum(c * at**n for n, c in enumerate(coefficients))


def saturated(printed: list[Row], more: list[Row]) -> dict[str, Any]:
    """Coefficients, range and printed uncertainties; stops at a table row its polynomial does not give."""
    salts: dict[str, Any] = {}
    for row in printed:
        if not row["kind"].startswith("polynomial"):
            continue
        coefficients = [float(row[name]) for name in ("value", "value2", "value3", "value4")]
        refit = row["kind"] == "polynomial_refit"
        source = "Greenspan1977refit" if refit else "Greenspan1977"
        table = [r for r in printed if r["kind"] == "table" and r["salt"] == row["salt"]]
        table += [r for r in more if r["salt"] == row["salt"]]
        table.sort(key=lambda r: float(r["t_C"]))
        for line in table:
            difference = polynomial(coefficients, float(line["t_C"])) - float(line["value"])
            if not -0.001 <= difference < TRUNCATION:
                sys.exit(f"{row['salt']} at {line['t_C']} degC: polynomial minus table is {difference:.4f}")
        salts[KEYS.get(row["salt"], row["salt"])] = {
            "coefficients": coefficients,
            "valid_temperature_c": [float(row["t_min_C"]), float(row["t_max_C"])],
            "u_rows": [[float(r["t_C"]), printed_u(r)] for r in table],
            "source": source,
            "where": "coefficients as printed, table 1" if not refit else "least squares to rows of table 2",
            "verified": VERIFIED[source],
        }
    return {"salts": salts, "refused": REFUSED}


def pitzer(m: float, p: dict[str, float], ions: list[int], a_phi: float = A_PHI) -> float:
    """The builder's own copy of the three-parameter form, kept apart from the code it writes data for."""
    x, y = ions
    nu = x + y
    strength = m if nu == 2 else 3 * m
    f = -a_phi * math.sqrt(strength) / (1 + 1.2 * math.sqrt(strength))
    b = p["beta0"] + p["beta1"] * math.exp(-2 * math.sqrt(strength))
    pairs = x * y
    return 1 + (nu - 1) * f + 2 * pairs / nu * m * b + 2 * math.sqrt(pairs) ** 3 / nu * m * m * p["c_phi"]


def per_kelvin(limit: Row, p: dict[str, float], ions: list[int]) -> float | None:
    """Largest |d a_w/dT| / (1 - a_w) [1/K] over the molalities where the derivatives are said to hold."""
    if not limit["dbeta0_dT"]:
        return None
    c_scale = 2.0 * math.sqrt(2.0) if limit["c_form"] == "C0" else 1.0  # C0 = Cphi / (2 |z+ z-|^(1/2))
    warm = {
        "beta0": p["beta0"] + float(limit["dbeta0_dT"]),
        "beta1": p["beta1"] + float(limit["dbeta1_dT"]),
        "c_phi": p["c_phi"] + float(limit["dcphi_dT"]) * c_scale,
    }
    worst, high = 0.0, float(limit["max_of_derivatives"])
    for step in range(1, 101):
        m = high * step / 100
        here, there = pitzer(m, p, ions), pitzer(m, warm, ions, A_PHI + D_A_PHI_DT)
        cold = math.exp(-sum(ions) * m * WATER * here)
        change = abs(math.exp(-sum(ions) * m * WATER * there) - cold)
        worst = max(worst, change / (1 - cold))
    return worst


def electrolytes(printed: list[Row], limits: list[Row]) -> dict[str, Any]:
    """Pitzer parameters, tabulated osmotic coefficients and the two terms of their uncertainty."""
    found: dict[str, Any] = {}
    for row in printed:
        if not row["kind"].startswith("pitzer_1973"):
            continue
        limit = next(r for r in limits if r["solute"] == row["solute"])
        two_one = row["kind"] == "pitzer_1973_2to1"
        ions = [1, 2] if two_one else [1, 1]
        beta, c = (FACTOR_BETA, FACTOR_C) if two_one else (1.0, 1.0)
        printed_values = (float(row["value"]) / beta, float(row["value2"]) / beta, float(row["value3"]) / c)
        p = dict(zip(("beta0", "beta1", "c_phi"), printed_values, strict=True))
        seam = float(limit["max_molality"])
        phi = [r for r in printed if r["kind"] == "phi_table" and r["solute"] == row["solute"]]
        molalities, values = [float(r["molality"]) for r in phi], [float(r["phi"]) for r in phi]
        both = [(m, value) for m, value in zip(molalities, values, strict=True) if m <= seam]
        inside = [abs(pitzer(m, p, ions) - value) for m, value in both]
        beyond = bool(phi) and molalities[-1] > seam
        fit = {"max_molality": seam, "max_verified": limit["max_verified"], "source": "PitzerMayorga1973"}
        table = {"molality": molalities, "phi": values, "source": "RobinsonStokes1959"}
        found[row["solute"]] = {
            "ions": ions,
            "pitzer": {**p, **fit},
            "table": table if beyond else None,
            "checked": any(r["phi"] or r["aw"] for r in printed if r["solute"] == row["solute"]),
            "model_difference": round(max(inside), 5) if inside else SIGMA_PHI_WITHOUT_TABLE,
            "per_kelvin": per_kelvin(limit, p, ions),
        }
    return found


def with_temperature_terms(found: dict[str, Any]) -> float:
    """Gives the solutes without derivatives the largest term of the 1:1 salts; returns that term."""
    one_one = [e["per_kelvin"] for e in found.values() if e["ions"] == [1, 1]]
    largest = max(term for term in one_one if term is not None)
    for entry in found.values():
        own = entry["per_kelvin"]
        entry["per_kelvin_from"] = NO_SOURCE if own is None else "Pitzer1991"
        entry["per_kelvin"] = float(f"{largest if own is None else own:.2g}")
    return float(f"{largest:.2g}")


def nonelectrolytes(printed: list[Row], humectants: list[Row], temperature_term: float) -> dict[str, Any]:
    """Sucrose (polynomial of 1961) and glycerol (Norrish constant)."""
    equation = next(r for r in printed if r["kind"] == "equation" and r["solute"] == "sucrose")["value"]
    terms = re.findall(r"([+-]?[\d.]+)(?:m(?:\^\d)?)?(?=[+-]|$)", equation)
    coefficients = [float(term) for term in terms]
    phi = [r for r in printed if r["kind"] == "phi_table" and r["solute"] == "sucrose"]
    off = max(abs(polynomial(coefficients, float(r["molality"])) - float(r["phi"])) for r in phi)
    k = {r["id"]: r for r in humectants if r["solute"] == "glycerol" and r["kind"].startswith("norrish_")}
    later, first = float(k["H001"]["value"]), float(k["H026"]["value2"])
    return {
        "sucrose": {
            "coefficients": coefficients,
            "max_molality": float(phi[-1]["molality"]),
            "u_phi": round(off, 4),
            "source": "RobinsonStokes1961",
            "checked": True,
            "per_kelvin": temperature_term,
            "per_kelvin_from": NO_SOURCE,
        },
        "glycerol": {
            "norrish_k": later,
            # two published constants, of 1966 and later: their distance is the half-width of a rectangle
            "u_norrish_k": round((later - first) / math.sqrt(3.0), 3),
            "max_molality": 12.0,
            "max_from": "no source: held to about 52 % by weight",
            "source": "ChirifeFontanBenmergui1980",
            "checked": False,
            "per_kelvin": temperature_term,
            "per_kelvin_from": NO_SOURCE,
        },
    }


def molar_mass(elements: str, masses: dict[str, float]) -> float:
    """g/mol of 'K2 C O3'."""
    total = 0.0
    for part in elements.split():
        found = re.fullmatch(r"([A-Z][a-z]?)(\d*)", part)
        if not found:
            sys.exit(f"elements: {part!r} in {elements!r}")
        total += masses[found.group(1)] * int(found.group(2) or 1)
    return round(total, 4)


def substances(usable: set[str]) -> dict[str, Any]:
    """Names, molar masses, hydrates, solubilities and cautions."""
    masses = {row["element"]: float(row["g_per_mol"]) for row in rows_of(MORE / "atomic_masses.csv")}
    found: dict[str, Any] = {}
    for row in rows_of(MORE / "substances.csv"):
        solubility = row["solubility_g_per_100_g_water"]
        found[row["key"]] = {
            "name": row["name"],
            "aliases": [alias for alias in row["aliases"].split(";") if alias],
            "g_per_mol": molar_mass(row["elements"], masses),
            "hydrate": row["hydrate"] or None,
            "hydrate_waters": float(row["hydrate_waters"]),
            "solubility_g_per_100_g_water": float(solubility) if solubility else None,
            "solubility_verified": row["solubility_verified"] or None,
            "cautions": [words for words in row["cautions"].split("|") if words],
            "usable": row["key"] in usable,
        }
    return found


def main(folder: Path) -> None:
    """Writes the five data files."""
    TARGET.mkdir(parents=True, exist_ok=True)
    salts, solutions = rows_of(folder / "saturated_salts.csv"), rows_of(folder / "unsaturated_solutions.csv")
    wet = saturated(salts, rows_of(MORE / "more_table_rows.csv"))
    ionic = electrolytes(solutions, rows_of(MORE / "pitzer_ranges.csv"))
    neutral = nonelectrolytes(solutions, rows_of(folder / "humectants.csv"), with_temperature_terms(ionic))
    write("saturated", wet)
    write("electrolytes", ionic)
    write("nonelectrolytes", neutral)
    write("substances", substances({*wet["salts"], *ionic, *neutral}))
    write("sources", VERIFIED)


if __name__ == "__main__":
    if len(sys.argv) != 2:
        sys.exit("usage: python builders/solutions.py FOLDER_WITH_THE_REFERENCE_CSV_FILES")
    main(Path(sys.argv[1]))
