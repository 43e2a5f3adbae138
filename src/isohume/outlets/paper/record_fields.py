"""Reading a frozen record for paper: a field that print must carry is asked for by name, never guessed."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from isohume.foundation.quantity.errors import InputError

SCHEMA = "isohume.record/1"


def need(record: Mapping[str, Any], *path: str) -> Any:
    """The field at `path`; an InputError naming it where it is absent or null."""
    value = get(record, *path)
    if value is None or value == "":
        raise InputError(f"record.{'.'.join(path)}", value, f"a value, as {SCHEMA} asks")
    return value


def get(record: Mapping[str, Any], *path: str) -> Any:
    """The field at `path`, or None where it or anything on the way to it is absent."""
    value: Any = record
    for name in path:
        if not isinstance(value, Mapping):
            return None
        value = value.get(name)
    return value


def items(record: Mapping[str, Any], *path: str) -> list[Any]:
    """The list at `path`; empty where it is absent or null."""
    return list(get(record, *path) or [])


def estimate_label(record: Mapping[str, Any]) -> str:
    """What the result is where values were taken before the method's criterion; empty where every one had settled."""
    return str(get(record, "estimates", "label") or "")


def check_schema(record: Mapping[str, Any]) -> None:
    """Refuse a record of another schema: printing what is not understood would be a claim."""
    if record.get("schema") != SCHEMA:
        raise InputError("record.schema", record.get("schema"), SCHEMA)


def site_line(record: Mapping[str, Any]) -> str:
    """The site and, where the record names one, the laboratory on it."""
    laboratory = get(record, "site", "laboratory")
    name = str(need(record, "site", "name"))
    return f"{name}, {laboratory}" if laboratory else name
