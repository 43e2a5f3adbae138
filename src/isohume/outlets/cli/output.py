"""What a verb prints: one JSON object, or a readable table."""

from __future__ import annotations

import json
import sys
from collections.abc import Sequence
from typing import Any

NEARLY_CERTAIN = 0.9999


def print_json(content: dict[str, Any]) -> None:
    """One JSON object on one line, numbers unrounded, keys in the contract's order; whole, or not begun."""
    text = json.dumps(content, ensure_ascii=False, allow_nan=False)
    try:
        text.encode(_encoding())
    except UnicodeEncodeError:  # a narrow output, or a file name that is no text: JSON has its own escapes
        text = json.dumps(content, ensure_ascii=True, allow_nan=False)
    sys.stdout.write(f"{text}\n")


def print_text(text: str = "") -> None:
    """A readable text; what the output cannot show is escaped, and nothing in it can steer a terminal."""
    encoding = _encoding()
    plain = _printable(text, also="\n").encode(encoding, "backslashreplace").decode(encoding)
    sys.stdout.write(f"{plain}\n")


def print_error(text: str) -> None:
    """One line on standard error, whatever names and values it holds; nowhere, where that was closed."""
    if sys.stderr is not None:
        sys.stderr.write(f"isohume: {_printable(text)}\n")


def _printable(text: str, also: str = "") -> str:
    return "".join(c if c.isprintable() or c in also else "\N{REPLACEMENT CHARACTER}" for c in text)


def _encoding() -> str:
    return getattr(sys.stdout, "encoding", None) or "utf-8"


def percent(probability: float) -> str:
    """A probability in percent; certainty is never claimed."""
    if probability > NEARLY_CERTAIN:
        return "above 99.99 %"
    if probability < 1 - NEARLY_CERTAIN:
        return "below 0.01 %"
    return f"{100 * probability:.2f} %"


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


def listed(title: str, texts: Sequence[str]) -> str:
    """Reasons, notes or cautions under their title, one a line; empty where there are none."""
    return "\n".join((f"{title}:", *(f"- {text}" for text in texts))) if texts else ""


def parts(*texts: str) -> str:
    """The parts of a text with a blank line between them, empty ones left out."""
    return "\n\n".join(text for text in texts if text)
