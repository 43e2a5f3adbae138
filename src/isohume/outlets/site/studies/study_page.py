"""What the page of a study says: the answer first, and everything it stands on."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from isohume.foundation.quantity.errors import InputError, shown
from isohume.outlets.site.studies import answers, hows
from isohume.outlets.site.studies.answers import Limit
from isohume.outlets.site.studies.models import Study
from isohume.outlets.site.studies.words import both_bases, cited, model_of, moisture, number, parameter, set_words
from isohume.product.sorption.point_file import DIRECTIONS

FIELDS = ("a_w_limit", "level", "direction", "temperature_c", "guard", "moisture_u")
OTHERWISE = "0.60"
MONOLAYERS = ("bet", "gab")
LOOSE = 0.5  # a relative standard uncertainty beyond which a monolayer is not told


@dataclass
class Answer:
    """The moisture limit of a study as it is asked for, or why there is none."""

    asked: dict[str, str]
    one: dict[str, Any] | None = None
    limit: Limit | None = None
    guard: float = 0.0
    u: float = 0.0
    errors: dict[str, str] = field(default_factory=dict)

    @property
    def words(self) -> str:
        """The answer itself."""
        if self.limit is None:
            return ""
        found = self.limit.moisture
        return f"Moisture limit for a_w {self.asked['a_w_limit']}: {both_bases(found.low, found.high)}"

    @property
    def keep(self) -> str:
        """The moisture to keep to."""
        if self.limit is None:
            return ""
        return moisture(self.limit.keep, self.limit.moisture.high - self.limit.moisture.low, down=True)


    @property
    def open_form(self) -> str:
        """Which models the points cannot rule out, where there are some: their distance is in the interval."""
        near = self.one["curve"].get("near", []) if self.limit is not None and self.one is not None else []
        if not near:
            return ""
        return f"The interval includes the distance to {' and '.join(near)}, which these points cannot rule out."


def answer_of(study: Study, typed: Mapping[str, str]) -> Answer:
    """The answer to what is typed, or to what the page starts with; errors stand at their fields."""
    asked = _started(study, typed)
    found = Answer(asked)
    try:
        found.one = _set_of(study, asked)
        found.guard, found.u = answers.read_guard(asked["guard"]), answers.read_moisture_u(asked["moisture_u"])
        level, a_w = answers.read_level(asked["level"]), answers.read_a_w_limit(asked["a_w_limit"])
        if found.one["curve"]:
            found.limit = answers.moisture_limit(found.one, a_w, level, found.guard, found.u)
    except InputError as error:
        found.errors[error.field] = f"read {shown(error.value)}; allowed: {error.allowed}"
    return found


def _started(study: Study, typed: Mapping[str, str]) -> dict[str, str]:
    """What is asked: as typed, else the product's own limit at the warmest temperature that was measured."""
    first = _first(study)
    start = {
        "a_w_limit": _own_limit(study, first),
        "level": "95",
        "direction": first["direction"],
        "temperature_c": first["temperature_c"],
        "guard": "",
        "moisture_u": "",
    }
    return {name: typed.get(name, start[name]) for name in FIELDS}


def _first(study: Study) -> dict[str, Any]:
    """Adsorption before desorption (at an a_w it holds less water), warm before cold, answered before not."""
    return min(study.sets, key=lambda one: (one["curve"] is None, one["direction"], -float(one["temperature_c"])))


def _own_limit(study: Study, one: Mapping[str, Any]) -> str:
    """The upper limit of the product's specification where the points reach it, else 0.60, else the range's middle."""
    spec = study.product.specification
    candidates = [spec.upper if spec else "", OTHERWISE]
    if one["curve"] is None:
        return next(text for text in candidates if text)
    low, high = one["curve"]["a_w"][0], one["curve"]["a_w"][-1]
    middle = f"{(low + high) / 2:.2f}"
    return next((text for text in candidates if text and low <= float(text) <= high), middle)


def _set_of(study: Study, asked: Mapping[str, str]) -> dict[str, Any]:
    """The set that was measured in this direction at this temperature."""
    have = [one for one in study.sets if one["direction"] == asked["direction"]]
    if not have:
        known = " or ".join(dict.fromkeys(one["direction"] for one in study.sets))
        raise InputError("direction", asked["direction"] or "nothing", f"{known}: nothing else was measured")
    near = [
        one
        for one in have
        if not answers.same_temperature(asked["temperature_c"], one["temperature_c"], "temperature_c")
    ]
    if not near:
        known = " or ".join(f"{one['temperature_c']} degC" for one in have)
        raise InputError(
            "temperature_c", asked["temperature_c"], f"{known}, as measured: a_w moves with temperature at one moisture"
        )
    return near[0]


def directions_of(study: Study) -> list[str]:
    """The directions that were measured."""
    return [name for name in DIRECTIONS if any(one["direction"] == name for one in study.sets)]


def facts_of(found: Answer, replicates: int) -> list[tuple[Any, ...]]:
    """What stands under the answer, each with how it is known."""
    if found.limit is None or found.one is None:
        return []
    limit, one = found.limit, found.one
    how = hows.of_curve(one, limit.level)
    percent, wide = answers.LEVELS[limit.level], limit.moisture.high - limit.moisture.low
    keep_how = hows.of_keep(limit, one, found.guard, found.u)
    resampled = hows.of_resampled(one, limit.level, replicates)
    return [
        (f"Keep at or below, with {percent} assurance", found.keep, keep_how),
        ("Best estimate of the curve", moisture(limit.moisture.value, wide), how),
        (f"{percent} interval of the curve", both_bases(limit.moisture.low, limit.moisture.high), how),
        ("The same interval by bootstrap", both_bases(limit.resampled.low, limit.resampled.high), resampled),
        ("a_w at the best estimate, the interval read across", _across(limit), how),
    ]


def _across(limit: Limit) -> str:
    there = limit.a_w_there
    return f"{there.low:.3f} to {there.high:.3f}"


def monolayers(one: Mapping[str, Any]) -> list[tuple[Any, ...]]:
    """The monolayer of BET, on its own range, beside that of GAB; none where no model describes the points."""
    rows: list[tuple[Any, ...]] = []
    if one["curve"] is None:
        return rows
    for key in MONOLAYERS:
        model = model_of(one, key)
        own = next((p for p in model["parameters"] if p["name"] == "monolayer_db"), None) if model else None
        if model and own and own["value"] is not None:
            known = own["u"] is not None and own["u"] < LOOSE * own["value"]
            text = f"{parameter(own)} dry basis" if known else "not determined by these points"
            rows.append((f"Monolayer by {model['name']}", text, hows.of_monolayer(model)))
    return rows


def kept_words(study: Study) -> list[tuple[Any, str]]:
    """The isotherms that were kept of a study."""
    return [(one, f"Version {one.version}, {set_words(_as_set(one))}") for one in study.isotherms.order_by("-version")]


def _as_set(one: Any) -> dict[str, str]:
    return {"direction": one.direction, "temperature_c": one.temperature_c}


def set_line(one: Mapping[str, Any]) -> str:
    """A set to be chosen: adsorption at 25.0 degC: GAB, 12 points."""
    model = model_of(one, one["recommended"])
    return f"{set_words(one)}: {model['name'] if model else 'no model'}, {one['n']} points"


def range_words(one: Mapping[str, Any]) -> str:
    """Where a curve answers, in a_w and in moisture."""
    saved = one["curve"]
    first, last = saved["a_w"][0], saved["a_w"][-1]
    return f"a_w {first:.3f} to {last:.3f}; {both_bases(saved['moisture'][0], saved['moisture'][-1])}"


def comparison_of(one: Mapping[str, Any]) -> list[dict[str, Any]]:
    """The models side by side, the best supported first."""
    rows = [
        {
            "name": model["name"],
            "recommended": model["key"] == one["recommended"],
            "equation": model["equation"],
            "parameters": [(p["name"], parameter(p)) for p in model["parameters"]],
            "points": model["n"],
            "standard_error": number(model["standard_error"], 5),
            "mrd": number(model["mrd_percent"], 2),
            "aicc": number(model["aicc"], 1),
            "weight": number(model["weight"], 3),
            "range": f"{model['valid_a_w'][0]:.3f} to {model['valid_a_w'][1]:.3f}",
            "warnings": _to_mind(model),
            "source": cited(model),
            "order": (model["key"] != one["recommended"], -(model["weight"] or 0.0)),
        }
        for model in one["models"]
    ]
    return sorted(rows, key=lambda row: row["order"])


def parameters_of(one: Mapping[str, Any]) -> list[tuple[Any, ...]]:
    """The parameters of the recommended model, each with how it is known."""
    model = model_of(one, one["recommended"])
    how = hows.of_curve(one, "95")
    return [(p["name"], f"{parameter(p)}, {p['meaning']}", how) for p in model["parameters"]] if model else []


def _to_mind(model: Mapping[str, Any]) -> list[str]:
    """What rules a model out, and what its fit makes one notice; nothing twice."""
    return [f"ruled out: {fault}" for fault in model["faults"]] + list(model["warnings"])
