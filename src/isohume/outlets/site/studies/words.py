"""Figures of an isotherm in words: moisture on both bases, rounded to what its interval lets it say."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

from isohume.foundation.quantity.moisture import wet_from_dry
from isohume.foundation.quantity.rounding import round_together
from isohume.outlets.site.studies.answers import Interval


def decimals(width: float, least: int, most: int) -> int:
    """So many that the width of an interval shows two digits."""
    if width <= 0:
        return most
    return min(max(1 - math.floor(math.log10(width)), least), most)


def both_bases(low: float, high: float) -> str:
    """An interval of moisture: 0.112 to 0.125 kg/kg dry basis (10.1 to 11.1 % wet basis)."""
    wet_low, wet_high = (100 * float(wet_from_dry(end)) for end in (low, high))
    dry, wet = decimals(high - low, 3, 5), decimals(wet_high - wet_low, 1, 3)
    return f"{low:.{dry}f} to {high:.{dry}f} kg/kg dry basis ({wet_low:.{wet}f} to {wet_high:.{wet}f} % wet basis)"


def moisture(value: float, width: float = 0.0, *, down: bool = False) -> str:
    """One moisture on both bases; `down`: never rounded up, for what is kept to."""
    wet = 100 * float(wet_from_dry(value))
    dry_places, wet_places = decimals(width, 3, 4), decimals(100 * width, 1, 2)
    return f"{_shown(value, dry_places, down)} kg/kg dry basis ({_shown(wet, wet_places, down)} % wet basis)"


def _shown(value: float, places: int, down: bool) -> str:
    scaled = value * 10**places
    return f"{(math.floor(scaled + 1e-9) / 10**places if down else value):.{places}f}"


def a_w_interval(found: Interval) -> str:
    """A water activity with its interval: 0.600 (0.571 to 0.624)."""
    places = decimals(found.high - found.low, 3, 4)
    return f"{found.value:.{places}f} ({found.low:.{places}f} to {found.high:.{places}f})"


def moisture_interval(found: Interval) -> str:
    """A moisture with its interval, both bases."""
    width = found.high - found.low
    return f"{moisture(found.value, width)}, between {both_bases(found.low, found.high)}"


def set_words(one: Mapping[str, Any]) -> str:
    """What a set is: adsorption at 25.0 degC."""
    return f"{one['direction']} at {one['temperature_c']} degC"


def model_of(one: Mapping[str, Any], key: str | None) -> dict[str, Any] | None:
    """A fitted model of a set by its key."""
    return next((model for model in one["models"] if model["key"] == key), None)


def parameter(given: Mapping[str, Any]) -> str:
    """A parameter with its standard uncertainty, rounded together, and its unit."""
    value, u = given["value"], given["u"]
    if value is None:
        return "not determined"
    unit = "" if given["unit"] == "1" else f" {given['unit']}"
    if u is None or u == 0:
        return f"{value:.4g}{unit} (no u)"
    if u > 1e3 * abs(value) or u > 1e9:
        return f"{value:.4g}{unit} (u {u:.2g}: not determined by these points)"
    shown, shown_u = round_together(value, u)
    return f"{shown}{unit} (u {shown_u})"


def number(value: float | None, places: int) -> str:
    """A figure of the comparison, or that there is none."""
    return "none" if value is None else f"{value:.{places}f}"


def cited(model: Mapping[str, Any]) -> str:
    """Where a model comes from, and whether that was looked up."""
    where = f", {model['where']}" if model["where"] else ""
    return f"{model['source']}{where}{' (from memory)' if model['verified'] == 'memory' else ''}"
