"""Writes a lot file's TOML: texts escaped, numbers exactly as they were typed."""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import Any


def toml_of(tables: Mapping[str, Mapping[str, Any]]) -> str:
    """A document of tables in the order given; empty tables are left out.

    tables: table name -> its keys; None and empty texts leave a key out. Numbers are given as the texts that were
        typed and stay texts: a lot file reads both alike, and a text keeps every digit and comma.
    """
    return "\n".join(_table(name, keys) for name, keys in tables.items() if keys)


def _table(name: str, keys: Mapping[str, Any]) -> str:
    lines = [f"{key} = {_value(value)}\n" for key, value in keys.items() if value is not None and value != ""]
    return f"[{name}]\n{''.join(lines)}"


def _value(value: Any) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, dict):
        return "{ " + ", ".join(f"{key} = {_value(item)}" for key, item in value.items()) + " }"
    if isinstance(value, list):
        return "[" + ", ".join(_value(item) for item in value) + "]"
    # JSON escapes what TOML escapes, but for DEL
    return json.dumps(str(value), ensure_ascii=False).replace("\x7f", "\\u007f")
