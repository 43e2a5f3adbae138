"""What a verb prints: one JSON object, or a readable table."""

from __future__ import annotations

import json
import sys
from collections.abc import Sequence
from typing import Any


def print_json(content: dict[str, Any]) -> None:
    """One JSON object on one line, numbers unrounded, keys in the contract's order."""
    json.dump(content, sys.stdout, ensure_ascii=False, allow_nan=False)
    sys.stdout.write("\n")


def table(header: Sequence[str], rows: Sequence[Sequence[str]], right: Sequence[int] = ()) -> str:
    """Columns as wide as they need to be; the columns in `right` are set flush right."""
    widths = [max(len(row[i]) for row in (header, *rows)) for i in range(len(header))]
    lines = []
    for row in (header, ["-" * width for width in widths], *rows):
        cells = [row[i].rjust(widths[i]) if i in right else row[i].ljust(widths[i]) for i in range(len(header))]
        lines.append("  ".join(cells).rstrip())
    return "\n".join(lines)


def facts(pairs: Sequence[tuple[str, str]]) -> str:
    """Names and values, one a line, aligned."""
    width = max(len(name) for name, _ in pairs)
    return "\n".join(f"{name.ljust(width)}  {value}" for name, value in pairs)


def reasons(texts: Sequence[str]) -> str:
    """Reasons, one a line, as a list."""
    return "\n".join(f"- {text}" for text in texts)
