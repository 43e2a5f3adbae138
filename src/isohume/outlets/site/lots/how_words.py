"""How the figures of a record were found, as a page opens them in place."""

from __future__ import annotations

from typing import Any

from isohume.foundation.quantity.errors import UnknownNameError
from isohume.foundation.quantity.sources import source
from isohume.outlets.paper.record_words import inner, plain

How = dict[str, Any]


def hows_of(content: dict[str, Any]) -> dict[str, How]:
    """Each computed figure of a record with formula, inputs, source, range and what it depends on most."""
    return {entry["figure"]: how_of(entry) for entry in content["how"]}


def how_of(entry: dict[str, Any]) -> How:
    """One explanation of a record."""
    return {
        "formula": entry["formula"],
        "inputs": [(name.replace("_", " "), inner(value)) for name, value in (entry["inputs"] or {}).items()],
        "source": _source(str(entry["source"])),
        "range": plain(entry["valid"]),
        "depends": plain(entry["depends_most_on"]) if entry["depends_most_on"] else "",
    }


def _source(key: str) -> str:
    """The source with its title where it is a key of the sources' list."""
    try:
        return f"{source(key)} ({key})"
    except UnknownNameError:
        return key
