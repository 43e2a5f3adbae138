"""Names of rows and columns as people type them: a list with commas, where "rack 1 to 12" is twelve of them."""

from __future__ import annotations

import re

from isohume.bench.decision import position_key
from isohume.foundation.quantity.errors import InputError
from isohume.foundation.quantity.typed import read_words

MOST, LONGEST = 60, 40
_SERIES = re.compile(r"(.*?)\s*(\d{1,3})\s*(?:to|-)\s*(\d{1,3})\Z", re.ASCII)


def read_names(text: str, field: str) -> list[str]:
    """The names of a list.

    Raises: InputError for a name twice, one that is too long, or too many of them.
    """
    found = [name for part in read_words(text, field, 1000).split(",") for name in _series(part.strip(), field)]
    known: set[str] = set()
    for name in found:
        if len(name) > LONGEST:
            raise InputError(field, name, f"names of at most {LONGEST} characters")
        if position_key(name) in known:
            raise InputError(field, name, "each name once")
        known.add(position_key(name))
    if len(found) > MOST:
        raise InputError(field, f"{len(found)} names", f"at most {MOST}")
    return found


def _series(part: str, field: str) -> list[str]:
    match = _SERIES.fullmatch(part)
    if match is None:
        return [part] if position_key(part) else []
    name, first, last = match.group(1), int(match.group(2)), int(match.group(3))
    if not first < last <= first + MOST:
        raise InputError(field, part, f"a rising series of at most {MOST}, such as rack 1 to 12")
    return [f"{name} {number}".strip() for number in range(first, last + 1)]
