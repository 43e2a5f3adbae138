"""Remarks on the rows of a file: one line for each kind, with the first row and how many more there are."""

from __future__ import annotations

import re
from collections.abc import Iterable

_NUMBERS = re.compile(r"[\d.,+-]+")


class Remarks:
    """Collects what was accepted and has to be said, such as a decimal comma; never longer than its kinds."""

    def __init__(self, file: str) -> None:
        self._file = file
        self._kinds: dict[str, tuple[int, str, int]] = {}

    def add(self, row: int, texts: Iterable[str]) -> None:
        """The remarks on one row; those that differ in their numbers alone are of one kind."""
        for text in texts:
            kind = _NUMBERS.sub("#", text)
            first, said, count = self._kinds.get(kind, (row, text, 0))
            self._kinds[kind] = (first, said, count + 1)

    def lines(self) -> list[str]:
        """The remarks in the order in which their kinds were met."""
        return [f"{self._file}: row {row}: {text}{_more(count - 1)}" for row, text, count in self._kinds.values()]


def _more(rows: int) -> str:
    if rows == 0:
        return ""
    return f" (and so in {rows} more row{'' if rows == 1 else 's'})"
