"""`isohume reference SOLUTION`: what a solution of known a_w should read."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

from isohume.foundation.quantity.errors import InputError
from isohume.foundation.quantity.rounding import round_together
from isohume.foundation.quantity.typed import read_a_w, read_temperature_c
from isohume.foundation.solutions import ReferenceValue, molality_for, reference_value
from isohume.outlets.cli.arguments import Arguments, positive
from isohume.outlets.cli.output import facts, print_json, reasons

EXAMPLE = "isohume reference NaCl --temperature-c 22"


def run(arguments: list[str]) -> int:
    """Print the value of a reference solution; 0, or an InputError."""
    parser = Arguments("reference", "The a_w of a reference solution, with its uncertainty and source.", EXAMPLE)
    parser.add_argument("solution", help="formula or English name, any case")
    parser.decimal("--temperature-c", help="temperature of the solution (default 25)")
    parser.decimal("--molality", help="mol per kg of water: an unsaturated solution")
    parser.decimal("--target", help="wanted a_w: solves for the molality")
    parser.decimal("--slurry-g", help="grams of a saturated slurry: gives its recipe")
    given = parser.parse_args(arguments)
    if sum(option is not None for option in (given.molality, given.target, given.slurry_g)) > 1:
        raise InputError("arguments", "more than one", "one of --molality, --target, --slurry-g")
    temperature_c = 25.0
    if given.temperature_c is not None:
        temperature_c = float(read_temperature_c(given.temperature_c.text))
    content = _content(given, temperature_c)
    if given.json:
        print_json(content)
    else:
        print(readable(content))
    return 0


def _content(given: Any, temperature_c: float) -> dict[str, Any]:
    if given.target is not None:
        return as_json(molality_for(given.solution, float(read_a_w(given.target.text, "target")), temperature_c))
    molality = positive(given.molality, "mol per kg of water, greater than 0")
    if molality is not None:
        return as_json(reference_value(given.solution, temperature_c, float(molality)))
    content = as_json(reference_value(given.solution, temperature_c))
    slurry_g = positive(given.slurry_g, "grams of slurry, greater than 0")
    if slurry_g is not None:
        from isohume.foundation.solutions import slurry

        content["slurry"] = asdict(slurry(given.solution, float(slurry_g), temperature_c))
    return content


def as_json(found: ReferenceValue) -> dict[str, Any]:
    """The keys of the command line's contract."""
    content: dict[str, Any] = {
        "solution": found.solution,
        "kind": found.kind,
        "temperature_c": found.temperature_c,
        "a_w": found.a_w,
        "u": found.u,
        "molality": found.molality,
        "source": found.source,
        "verified": found.verified,
        "valid_temperature_c": list(found.valid_temperature_c),
        "cautions": list(found.cautions),
    }
    if found.molality is not None:
        content |= {
            "osmotic_coefficient": found.osmotic_coefficient,
            "g_per_100_g_water": found.g_per_100_g_water,
            "valid_molality": None if found.valid_molality is None else list(found.valid_molality),
        }
    return content


def readable(content: dict[str, Any]) -> str:
    """A reference value as a person reads it: the value first."""
    a_w, u = round_together(content["a_w"], content["u"])
    low, high = content["valid_temperature_c"]
    rows = [
        (content["solution"], content["kind"]),
        (
            "a_w",
            f"{a_w}, u {u} (half the stated figure, taken as k = 2)"
            if u and content["molality"] is None
            else f"{a_w}, u {u or 'not published at this temperature'}",
        ),
        ("temperature", f"{content['temperature_c']:g} degC (valid {low:g} to {high:g} degC)"),
        (
            "source",
            f"{content['source']} ({'checked against the text' if content['verified'] == 'text' else 'from memory'})",
        ),
    ]
    if content["molality"] is not None:
        rows += [
            ("molality", f"{content['molality']:.4f} mol per kg of water"),
            ("osmotic coefficient", f"{content['osmotic_coefficient']:.4f}"),
            ("salt", f"{content['g_per_100_g_water']:.2f} g per 100 g of water"),
        ]
    parts = [facts(rows)]
    if "slurry" in content:
        parts.append(facts([(key.replace("_", " "), _shown(value)) for key, value in content["slurry"].items()]))
    if content["cautions"]:
        parts.append(reasons(content["cautions"]))
    return "\n\n".join(parts)


def _shown(value: object) -> str:
    return f"{value:.2f}" if isinstance(value, float) else "; ".join(value) if isinstance(value, tuple) else str(value)
