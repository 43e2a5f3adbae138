"""The numbers an instrument gives its runs: which of them never came, came twice, or began again.

F29 of the trade's list: a test repeated until it passes leaves more runs in the instrument's memory than in the record.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

LATE = 50
"""A number this little below the highest so far came late (an import of the next day); further below, counting began
again (no source)."""
LONGEST_GAP = 100_000
_LAST_DIGITS = re.compile(r"(.*?)(\d{1,12})", re.ASCII | re.DOTALL)


@dataclass(frozen=True, slots=True)
class Numbered:
    """What is to be said where a number stands: the numbers missing before it, and whether it is odd itself."""

    before: tuple[str, ...]  # what is missing before it, in words
    missing: int
    said: str


def split_number(number: str) -> tuple[str, int] | None:
    """What stands before the digits at a number's end, and the digits; None where it ends with none."""
    read = _LAST_DIGITS.fullmatch(number.strip())
    return (read[1], int(read[2])) if read else None


class _Series:
    """The numbers of one form of name on one instrument, as they came."""

    def __init__(self) -> None:
        self.seen: set[int] = set()
        self.highest = -1


def account(numbers: Sequence[str], before: str = "") -> list[Numbered]:
    """What is to be said of each number of an instrument.

        missing = numbers between the lowest and the highest of a series that no run has
    numbers: the instrument's numbers in the order in which its runs were read [text]; "" where a run has none.
    before: the last number before these [text], so that a gap at the beginning is seen.
    Returns: one Numbered a number [text]: what never came before it, how many, and what is odd about itself.
    Source: none (accounting for every run: ISO/IEC 17025 7.5.2 and 7.11; the words are our own).
    """
    all_of: dict[str, set[int]] = {}
    for one in (before, *numbers):
        if read := split_number(one):
            all_of.setdefault(read[0], set()).add(read[1])
    series: dict[str, _Series] = {}
    if before:
        _said(before, series, all_of)
    return [_said(one, series, all_of) for one in numbers]


def _said(number: str, series: dict[str, _Series], all_of: dict[str, set[int]]) -> Numbered:
    read = split_number(number)
    if read is None:
        return Numbered((), 0, "")
    name, n = read
    known = series.setdefault(name, _Series())
    again = known.highest >= 0 and n < known.highest - LATE
    if again:
        series[name] = known = _Series()
    said = "the numbers begin again here" if again else ""
    if n in known.seen:
        said = "this number came before"
    missing = [] if known.highest < 0 or n <= known.highest else _between(known.highest + 1, n, all_of[name])
    known.seen.add(n)
    known.highest = max(known.highest, n)
    width = len(number.strip()) - len(name)
    return Numbered(tuple(_words(name, width, one) for one in missing), sum(b - a + 1 for a, b in missing), said)


def _between(low: int, high: int, present: set[int]) -> list[tuple[int, int]]:
    """The stretches from low to below high of which nothing is present, now or later."""
    if high - low > LONGEST_GAP:
        return [(low, high - 1)]
    out: list[tuple[int, int]] = []
    for n in range(low, high):
        if n in present:
            continue
        if out and out[-1][1] == n - 1:
            out[-1] = (out[-1][0], n)
        else:
            out.append((n, n))
    return out


def _words(name: str, width: int, stretch: tuple[int, int]) -> str:
    low, high = (f"{name}{n:0{width}d}" for n in stretch)
    return f"{low} never came" if low == high else f"{low} to {high} never came"
