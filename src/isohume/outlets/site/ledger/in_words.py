"""The details of a ledger line as people read them: labels with their units, old and new, lists."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

from isohume.outlets.site.config.words import moment

UNITS = {"_c": "degC", "_g": "g", "_min": "min", "_h": "h", "_rh_percent": "% RH"}
SYMBOLS = frozenset({"a_w", "u_other", "s_r", "s_reproducibility", "s_position", "u_instrument", "u_wet_basis"})
# two of these are two, not an old one and a new one
LISTS = frozenset({"values", "reasons", "records", "lots", "scope", "dishes", "buffers", "readings", "recommended"})
_MOMENT = re.compile(r"\d{4}-\d\d-\d\dT\d\d:\d\d(:[\d.]+)?[+-]\d\d:\d\d", re.ASCII)


def label(name: str) -> str:
    """The name of a detail: sample_temperature_c is "sample temperature, degC"; a symbol stays as it is."""
    if name in SYMBOLS:
        return name
    for ending, unit in UNITS.items():
        if name.endswith(ending):
            return f"{name.removesuffix(ending).replace('_', ' ')}, {unit}"
    return name.replace("_", " ")


def words(name: str, value: Any) -> str:
    """What a detail says; two plain values of a change are the old and the new one."""
    if isinstance(value, Mapping):
        return ", ".join(f"{label(str(key))} {words(str(key), one)}" for key, one in value.items())
    if isinstance(value, list):
        if len(value) == 2 and name not in LISTS:
            return " → ".join(words("values", one) or "nothing" for one in value)
        between = "; " if any(isinstance(one, Mapping) for one in value) else ", "
        return between.join(words("values", one) for one in value)
    if isinstance(value, str) and _MOMENT.fullmatch(value):
        return moment(value)
    return {True: "yes", False: "no"}[value] if isinstance(value, bool) else str(value)
