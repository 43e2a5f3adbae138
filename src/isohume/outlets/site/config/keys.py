"""A row's key as a form or an address carries it: digits the database can hold, or nothing."""

from __future__ import annotations

_FEWER_THAN = 16  # digits; a longer key cannot be one of ours, and SQLite's integers end at 19


def read_key(text: str) -> int | None:
    """The key in the text, or None where the text is no key: signs, other scripts' digits, too long."""
    typed = text.strip()
    if typed.isascii() and typed.isdigit() and len(typed) < _FEWER_THAN:
        return int(typed)
    return None
