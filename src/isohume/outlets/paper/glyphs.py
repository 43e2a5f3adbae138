"""Which characters the paper's fonts can show; all others are printed as their code point, never dropped.

A lot name may hold any character. One that the fonts lack would stop the archive format, and one that is
invisible or turns the writing direction could make a name look like another: both are shown as [U+202E].
"""

from __future__ import annotations

import unicodedata
from collections.abc import Callable, Iterable
from typing import Any

INVISIBLE = {"Cc", "Cf", "Cn", "Co", "Cs", "Zl", "Zp"}

Probe = Callable[[str], bool]


class Printable:
    """Turns the texts of a record into what the fonts can show; asks `probe` once for each new character."""

    def __init__(self, probe: Probe) -> None:
        self._probe = probe
        self._known: dict[str, str] = {}

    def __call__(self, value: Any) -> Any:
        """The same structure with every text made printable; other values as they are."""
        self._learn(_unusual(value))
        return self._shown(value)

    def _shown(self, value: Any) -> Any:
        if isinstance(value, str):
            plain = value.isascii() and value.isprintable()
            return value if plain else "".join(self._known.get(c, c) for c in value)
        if isinstance(value, dict):
            return {key: self._shown(item) for key, item in value.items()}
        if isinstance(value, (list, tuple)):
            return [self._shown(item) for item in value]
        return value

    def _learn(self, characters: set[str]) -> None:
        new = sorted(characters - self._known.keys())
        hidden = [c for c in new if unicodedata.category(c) in INVISIBLE]
        self._known.update((c, code_point(c)) for c in hidden)
        self._ask([c for c in new if c not in self._known])

    def _ask(self, characters: list[str]) -> None:
        """Ask for all at once, and halve where the answer is no: few questions for many characters."""
        if not characters:
            return
        if self._probe("".join(characters)):
            self._known.update((c, c) for c in characters)
        elif len(characters) == 1:
            self._known[characters[0]] = code_point(characters[0])
        else:
            half = len(characters) // 2
            self._ask(characters[:half])
            self._ask(characters[half:])


def code_point(character: str) -> str:
    """A character as its code point: [U+202E]."""
    return f"[U+{ord(character):04X}]"


def _unusual(value: Any) -> set[str]:
    """All characters in a structure's texts that are not plain printable ASCII."""
    out: set[str] = set()
    for text in _texts(value):
        if not (text.isascii() and text.isprintable()):
            out.update(c for c in text if not (c.isascii() and c.isprintable()))
    return out


def _texts(value: Any) -> Iterable[str]:
    if isinstance(value, str):
        yield value
    elif isinstance(value, dict):
        for item in value.values():
            yield from _texts(item)
    elif isinstance(value, (list, tuple)):
        for item in value:
            yield from _texts(item)
