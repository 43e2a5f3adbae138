"""How the parts of a record read in print: moments, figures, probabilities, limits, verdicts."""

from __future__ import annotations

import json
from collections.abc import Mapping
from datetime import datetime, timedelta
from typing import Any

from isohume.foundation.quantity.rounding import round_together

SIGNS = {"<": "<", "<=": "≤", ">": ">", ">=": "≥"}
IN_WORDS = {"<": "below", "<=": "at most", ">": "above", ">=": "at least"}
STATEMENTS = ("pass", "conditional pass", "conditional fail", "fail")
ABSENT = "–"


def moment(text: object) -> str:
    """A moment in ISO 8601, seconds left out where they are zero, Z for no offset; other text as it is."""
    if not isinstance(text, str):
        return ABSENT
    if "T" not in text:
        return text
    try:
        at = datetime.fromisoformat(text)
    except ValueError:
        return text
    exact = "minutes" if at.second == 0 and at.microsecond == 0 else "seconds"
    if at.utcoffset() == timedelta(0):
        return at.replace(tzinfo=None).isoformat(timespec=exact) + "Z"
    return at.isoformat(timespec=exact)


def pair(value: float, u: float | None, factor: float = 1.0) -> tuple[str, str]:
    """Value and `factor` times u, both on the decimal place where u has two significant digits."""
    shown, shown_u = round_together(value, u)
    if not shown_u or u is None or factor == 1.0:
        return shown, shown_u
    return shown, fixed(factor * u, decimals(shown))


def decimals(text: str) -> int:
    """How many decimals a printed number has."""
    return len(text.partition(".")[2])


def fixed(value: float | str | None, places: int) -> str:
    """A number with so many decimals; typed numbers (texts) stay as typed; nothing becomes a dash."""
    if value is None:
        return ABSENT
    return value if isinstance(value, str) else f"{value:.{places}f}"


def signed(value: float | None, places: int) -> str:
    """A deviation with its sign, so that nobody has to guess the direction."""
    return ABSENT if value is None else f"{value:+.{places}f}".replace("-", "−")


def probability(p: float | None) -> str:
    """A probability to four decimals that never rounds up to certainty or down to none."""
    if p is None:
        return "not computed"
    if p > 0.9999:
        return "above 0.9999"
    return "below 0.0001" if p < 0.0001 else f"{p:.4f}"


def limit_words(limit: Mapping[str, Any]) -> str:
    """A limit as print says it: the words, and the sign with the number as typed."""
    operator = str(limit["operator"])
    return f"{IN_WORDS[operator]} {limit['value']} ({SIGNS[operator]}\N{NO-BREAK SPACE}{limit['value']})"


def limits_words(lower: Mapping[str, Any] | None, upper: Mapping[str, Any] | None) -> str:
    """Both limits of a specification, or the one there is."""
    return " and ".join(limit_words(limit) for limit in (lower, upper) if limit) or "no limit"


def yes(flag: object) -> str:
    """A yes or no, or a dash where it was not said."""
    return ABSENT if flag is None else ("yes" if flag else "no")


def sentence(text: str) -> str:
    """The text with a capital first letter."""
    return text[:1].upper() + text[1:]


def plain(value: object) -> str:
    """Any value of a record as one text; mappings as name: value, joined by semicolons."""
    if value is None:
        return ABSENT
    if isinstance(value, str):
        return moment(value) if value[:4].isdigit() and "T" in value else value
    if isinstance(value, Mapping):
        return "; ".join(f"{str(k).replace('_', ' ')}: {plain(v)}" for k, v in value.items())
    if isinstance(value, (list, tuple)):
        return ", ".join(plain(v) for v in value)
    if isinstance(value, float):
        return f"{value:.7g}"
    return json.dumps(value, ensure_ascii=False)


def inner(value: object) -> str:
    """A value inside a list of inputs; a mapping in brackets, so that it does not run into the next input."""
    if isinstance(value, Mapping):
        return "(" + ", ".join(f"{k} {inner(v)}" for k, v in value.items()) + ")"
    return plain(value)


def joined(reasons: list[Any]) -> str:
    """Reasons as one running text."""
    return " ".join(plain(reason) for reason in reasons)
