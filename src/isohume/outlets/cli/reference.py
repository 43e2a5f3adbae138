"""`isohume reference SOLUTION`: what a solution of known a_w should read."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

from isohume.foundation.quantity.errors import InputError
from isohume.foundation.quantity.rounding import round_together
from isohume.foundation.quantity.typed import read_words
from isohume.foundation.solutions import ReferenceValue, molality_for, reference_value
from isohume.outlets.cli.arguments import Arguments, positive
from isohume.outlets.cli.output import facts, listed, parts, print_json, print_text

EXAMPLE = "isohume reference NaCl --temperature-c 22"
LONGEST_SOLUTION = 100
AS_TYPED = {"target_a_w": "target", "total_g": "slurry_g"}
"""How the command line calls what the library calls otherwise."""


def run(arguments: list[str]) -> int:
    """Print the value of a reference solution; 0, or an InputError."""
    parser = Arguments("reference", "The a_w of a reference solution, with its uncertainty and source.", EXAMPLE)
    parser.add_argument("solution", help="formula or English name, any case")
    parser.decimal("--temperature-c", "DEGC", help="temperature of the solution (default 25)")
    parser.decimal("--molality", "MOL_PER_KG", help="mol per kg of water: an unsaturated solution")
    parser.decimal("--target", "A_W", help="wanted a_w: solves for the molality")
    parser.decimal("--slurry-g", "GRAMS", help="grams of a saturated slurry: gives its recipe")
    parser.how()
    given = parser.parse_args(arguments)
    if sum(option is not None for option in (given.molality, given.target, given.slurry_g)) > 1:
        raise InputError("arguments", "more than one", "one of --molality, --target, --slurry-g")
    content = _content(given, 25.0 if given.temperature_c is None else given.temperature_c.temperature_c())
    content["notes"] = parser.notes
    figures: tuple[Any, ...] = ()
    if given.how:
        figures = (_how(content),)
    if given.json:
        print_json(content | _how_json(figures))
    else:
        print_text(readable(content) + _explained(figures))
    return 0


def _how_json(figures: tuple[Any, ...]) -> dict[str, Any]:
    if not figures:
        return {}
    from isohume.outlets.cli.how import how_json

    return how_json(figures)


def _explained(figures: tuple[Any, ...]) -> str:
    if not figures:
        return ""
    from isohume.outlets.cli.how import explained

    return explained(figures)


def _how(content: dict[str, Any]) -> Any:
    from isohume.foundation.quantity.how import How

    saturated = content["molality"] is None
    return How(
        "a_w of the solution",
        "a_w = sum(A_i t^i) / 100" if saturated else "a_w = exp(-nu m M_w phi), M_w = 0.0180153 kg/mol",
        content["source"],
        "{:g} to {:g} degC".format(*content["valid_temperature_c"])
        + ("" if saturated else "; {:g} to {:g} mol/kg".format(*content["valid_molality"])),
        "the temperature" if saturated else "the molality",
        {
            key: content[key]
            for key in ("temperature_c", "molality", "osmotic_coefficient")
            if content.get(key) is not None
        },
    )


def _content(given: Any, temperature_c: float) -> dict[str, Any]:
    solution = read_words(given.solution, "solution", LONGEST_SOLUTION)
    molality = positive(given.molality, "mol per kg of water, greater than 0")
    target = None if given.target is None else given.target.a_w()
    slurry_g = positive(given.slurry_g, "grams of slurry, greater than 0")
    try:
        if target is not None:
            return as_json(molality_for(solution, float(target), temperature_c))
        if molality is not None:
            return as_json(reference_value(solution, temperature_c, float(molality)))
        content = as_json(reference_value(solution, temperature_c))
        if slurry_g is not None:
            from isohume.foundation.solutions import slurry

            content["slurry"] = asdict(slurry(solution, float(slurry_g), temperature_c))
        return content
    except InputError as error:
        error.field = AS_TYPED.get(error.field, error.field)
        raise error.at() from None


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
    by_molality = content["molality"] is not None
    half = "" if by_molality else " (half the stated figure, taken as k = 2)"
    rows = [
        ("solution", f"{content['solution']}, {content['kind']}"),
        ("a_w", f"{a_w}, u {u}{half}" if u else f"{a_w}, u not published at this temperature"),
        ("temperature", f"{content['temperature_c']:g} degC (valid {low:g} to {high:g} degC)"),
        ("source", f"{content['source']} ({_trust(content['verified'])})"),
    ]
    if by_molality:
        least, most = content["valid_molality"]
        rows[3:3] = [
            ("molality", f"{content['molality']:.4f} mol per kg of water (valid {least:g} to {most:g})"),
            ("osmotic coefficient", f"{content['osmotic_coefficient']:.4f}"),
            ("to weigh", f"{content['g_per_100_g_water']:.2f} g, anhydrous, per 100 g of water"),
        ]
    return parts(
        facts(rows),
        _recipe(content["slurry"]) if "slurry" in content else "",
        listed("Cautions", content["cautions"]),
        listed("Notes", content["notes"]),
    )


def _recipe(slurry: dict[str, Any]) -> str:
    rows = [
        (f"{slurry['total_g']:g} g of slurry", _weighed("anhydrous salt", "salt_g", "water_with_anhydrous_g", slurry))
    ]
    if slurry["hydrate"]:
        rows.append(("or", _weighed(slurry["hydrate"], "hydrate_g", "water_g", slurry)))
    dissolves = f"{slurry['solubility_g_per_100_g_water']:g} g in 100 g of water"
    rows += [
        ("solubility", f"{dissolves} at {slurry['solubility_temperature_c']:g} degC"),
        ("its source", f"{slurry['source']} ({_trust(slurry['verified'])})"),
        ("rule", slurry["rule"]),
    ]
    return facts(rows)


def _weighed(what: str, solid: str, water: str, slurry: dict[str, Any]) -> str:
    return f"{slurry[solid]:.2f} g of {what} and {slurry[water]:.2f} g of water"


def _trust(verified: str) -> str:
    return "looked up in a text" if verified == "text" else "from memory"
