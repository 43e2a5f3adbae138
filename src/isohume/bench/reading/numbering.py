"""The numbers an instrument gives its runs: which of them never came, came twice, or began again.

F29 of the trade's list: a test repeated until it passes leaves more runs in the instrument's memory than in the record.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, field

LATE = 50
"""A number this little below the highest so far came late (an import of the next day); further below, counting began
again (no source). So it did however little below, where the number was there already or is the first one."""
FIRST = 1  # the number that counting begins with
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


@dataclass(slots=True)
class _Series:
    """The numbers that an instrument counted in one go, of one form of name."""

    from_first: bool = False  # it is known where counting began
    present: set[int] = field(default_factory=set)
    highest: int = -1
    told_to: int = -1  # the highest of those that were told


@dataclass(frozen=True, slots=True)
class _Placed:
    """A number in its series, and what is odd about it."""

    number: str
    name: str
    n: int
    series: _Series
    said: str


def account(numbers: Sequence[str], before: str = "") -> list[Numbered]:
    """What is to be said of each number of an instrument.

        missing = numbers between the lowest and the highest of a series that no run has, from 1 where it began again
    numbers: the instrument's numbers in the order in which its runs were read [text]; "" where a run has none.
    before: the last number before these [text], so that a gap at the beginning is seen.
    Returns: one Numbered a number [text]: what never came before it, how many, and what is odd about itself.
    Source: none (accounting for every run: ISO/IEC 17025 7.5.2 and 7.11; the words are our own).
    """
    all_of_them = [before, *numbers]
    told = [_told(one) if one else Numbered((), 0, "") for one in _in_series(all_of_them)]
    return told[1:]


def _in_series(numbers: Sequence[str]) -> list[_Placed | None]:
    """Each number in the series that it was counted in; None for one without digits."""
    read = [split_number(one) for one in numbers]
    following = _following(read)
    series: dict[str, _Series] = {}
    placed: list[_Placed | None] = []
    for at, one in enumerate(read):
        if one is None:
            placed.append(None)
            continue
        name, n = one
        known = series.setdefault(name, _Series())
        said = "this number came before" if n in known.present else ""
        if _begins_again(n, known, following[at]):
            said, known = "the numbers begin again here", _Series(True, highest=0, told_to=0)
            series[name] = known
        known.present.add(n)
        known.highest = max(known.highest, n)
        placed.append(_Placed(numbers[at].strip(), name, n, known, said))
    return placed


def _following(read: Sequence[tuple[str, int] | None]) -> list[int | None]:
    """The number that comes after each one under the same name; None after the last."""
    after: dict[str, int] = {}
    found: list[int | None] = []
    for one in reversed(read):
        found.append(None if one is None else after.get(one[0]))
        if one is not None:
            after[one[0]] = one[1]
    return found[::-1]


def _begins_again(n: int, known: _Series, following: int | None) -> bool:
    """Whether counting began again: far below the highest; or below it at its beginning, or with a number seen before.

    Where counting goes on as it was with the next number, this one came twice, or late.
    """
    if n >= known.highest:
        return False
    goes_on = following == known.highest + 1
    is_first = n <= FIRST and not known.from_first  # of a count whose first one is awaited it only comes late
    return n < known.highest - LATE or ((n in known.present or is_first) and not goes_on)


def _told(one: _Placed) -> Numbered:
    """What is missing before it, of those that its series has neither before nor after."""
    series, n = one.series, one.n
    missing = [] if series.told_to < 0 or n <= series.told_to else _between(series.told_to + 1, n, series.present)
    series.told_to = max(series.told_to, n)
    width = len(one.number) - len(one.name)
    words = tuple(_words(one.name, width, stretch) for stretch in missing)
    return Numbered(words, sum(b - a + 1 for a, b in missing), one.said)


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
