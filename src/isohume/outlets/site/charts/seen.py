"""The points of a chart, kept column by column: a thousand small objects more make Python look through all it holds."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from itertools import compress
from typing import Any, NamedTuple, overload


class Seen(NamedTuple):
    """One point: a reference in a check, or a lot of the control product; `of` leads to it, `at_s` is when.

    historic: of a past check brought from a spreadsheet; `of` is then that file.
    """

    at_s: int
    value: float
    of: int
    counted: bool = True
    void: bool = False
    historic: bool = False

    @property
    def at(self) -> datetime:
        """When, as a moment."""
        return datetime.fromtimestamp(self.at_s, UTC)


@dataclass(frozen=True, slots=True)
class SeenPoints(Sequence[Seen]):
    """Points in time order; a column for each thing that is known of a point."""

    at_s: tuple[int, ...] = ()
    value: tuple[float, ...] = ()
    of: tuple[int, ...] = ()
    counted: tuple[bool, ...] = ()
    void: tuple[bool, ...] = ()
    historic: tuple[bool, ...] = ()

    @classmethod
    def of_rows(cls, rows: Iterable[Sequence[Any]]) -> SeenPoints:
        """From points, or from rows that have the parts of a point in its order."""
        return cls(*zip(*rows, strict=True))

    @property
    def columns(self) -> tuple[tuple[Any, ...], ...]:
        """Every column, in the order of a point's parts."""
        return self.at_s, self.value, self.of, self.counted, self.void, self.historic

    def that_count(self) -> SeenPoints:
        """Only those that count."""
        if all(self.counted):
            return self
        return SeenPoints(*(tuple(compress(column, self.counted)) for column in self.columns))

    def followed_by(self, others: SeenPoints) -> SeenPoints:
        """These and the others after them."""
        return SeenPoints(*(one + other for one, other in zip(self.columns, others.columns, strict=True)))

    def __len__(self) -> int:
        return len(self.at_s)

    @overload
    def __getitem__(self, place: int) -> Seen: ...
    @overload
    def __getitem__(self, place: slice) -> SeenPoints: ...
    def __getitem__(self, place: int | slice) -> Seen | SeenPoints:
        if isinstance(place, slice):
            return SeenPoints(*(column[place] for column in self.columns))
        return Seen(*(column[place] for column in self.columns))

    def __iter__(self) -> Iterator[Seen]:
        return map(Seen, *self.columns)
