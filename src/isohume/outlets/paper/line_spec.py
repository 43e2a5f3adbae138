"""What stands on an a_w line: the one chart specification that screen and paper share.

The specification knows nothing of paper, of a page or of a record; whoever has numbers fills it.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

from isohume.foundation.quantity.errors import InputError, RangeError

ValueKind = Literal["result", "reading", "not used", "expected"]
LimitOperator = Literal["<", "<=", ">", ">="]

LOWEST, HIGHEST = 0.0, 1.2  # a meter may read a little above 1 on pure water; far beyond that it is percent
NARROWEST = 0.02  # a window narrower than this shows nothing but the instrument's own noise
ONE_LINE_FACTOR = 2.5  # everything fits one line while it is at most this much wider than what matters
PADDING = 0.1


@dataclass(frozen=True, slots=True)
class Window:
    """The stretch of a_w that a line shows."""

    low: float
    high: float

    def __post_init__(self) -> None:
        _a_w("window.low", self.low)
        _a_w("window.high", self.high)
        if not self.low < self.high:
            raise InputError("window", f"{self.low} to {self.high}", "a low end below the high end")

    @property
    def width(self) -> float:
        """How much a_w the window spans."""
        return self.high - self.low

    def holds(self, a_w: float) -> bool:
        """Whether a number lies inside the window, ends included."""
        return self.low <= a_w <= self.high


@dataclass(frozen=True, slots=True)
class Reference:
    """A reference solution: where it should be, and where it read (None before it was read)."""

    name: str
    expected: float
    read: float | None = None
    within: bool | None = None

    def __post_init__(self) -> None:
        _a_w("reference.expected", self.expected)
        if self.read is not None:
            _a_w("reference.read", self.read)


@dataclass(frozen=True, slots=True)
class Speaks:
    """The range in which an instrument may speak."""

    low: float
    high: float

    def __post_init__(self) -> None:
        _a_w("speaks.low", self.low)
        _a_w("speaks.high", self.high)
        if self.low > self.high:
            raise InputError("speaks", f"{self.low} to {self.high}", "a low end not above the high end")


@dataclass(frozen=True, slots=True)
class InstrumentRange:
    """One of several instruments with its range, and what is to be said of it: how long still, or why not."""

    name: str
    low: float
    high: float
    words: str = ""
    may_measure: bool = True

    def __post_init__(self) -> None:
        _a_w("range.low", self.low)
        _a_w("range.high", self.high)
        if self.low > self.high:
            raise InputError("range", f"{self.low} to {self.high}", "a low end not above the high end")


@dataclass(frozen=True, slots=True)
class LimitMark:
    """A limit with its operator, as typed, and the acceptance limit where the guard band ends (or None)."""

    value: float
    operator: LimitOperator
    typed: str
    acceptance: float | None = None
    acceptance_typed: str = ""

    def __post_init__(self) -> None:
        _a_w("limit.value", self.value)
        if self.operator not in ("<", "<=", ">", ">="):
            raise InputError("limit.operator", self.operator, "one of <, <=, >, >=")
        if self.acceptance is not None:
            _finite("limit.acceptance", self.acceptance)

    @property
    def is_upper(self) -> bool:
        """Whether this is a maximum."""
        return self.operator in ("<", "<=")

    @property
    def sign(self) -> str:
        """The operator as print shows it."""
        return {"<": "<", "<=": "≤", ">": ">", ">=": "≥"}[self.operator]


@dataclass(frozen=True, slots=True)
class ValueMark:
    """A value on the line: a result with its interval, a reading that counts or not, or where a sample is expected."""

    name: str
    value: float
    typed: str
    kind: ValueKind = "result"
    half_width: float | None = None
    half_width_typed: str = ""
    note: str = ""

    def __post_init__(self) -> None:
        _a_w("value", self.value)
        if self.half_width is not None:
            _finite("half_width", self.half_width)
            if self.half_width < 0:
                raise InputError("half_width", self.half_width, "zero or more")

    @property
    def low(self) -> float:
        """The lower end of the interval, or the value itself."""
        return self.value - (self.half_width or 0.0)

    @property
    def high(self) -> float:
        """The upper end of the interval, or the value itself."""
        return self.value + (self.half_width or 0.0)


@dataclass(frozen=True, slots=True)
class LineSpec:
    """One a_w line: the window, an overview line below where the marks lie far apart, and the marks."""

    window: Window
    title: str = "Water activity"
    overview: Window | None = None
    references: tuple[Reference, ...] = ()
    speaks: Speaks | None = None
    limits: tuple[LimitMark, ...] = ()
    values: tuple[ValueMark, ...] = ()
    ranges: tuple[InstrumentRange, ...] = ()


def fitted(
    title: str,
    references: Iterable[Reference] = (),
    speaks: Speaks | None = None,
    limits: Iterable[LimitMark] = (),
    values: Iterable[ValueMark] = (),
    ranges: Iterable[InstrumentRange] = (),
) -> LineSpec:
    """A line zoomed to what matters: values that count, limits and ranges if there are any, else the references.

    Where the references lie far outside that window, a second line shows the whole and where the window is.
    """
    refs, lims, vals, rngs = tuple(references), tuple(limits), tuple(values), tuple(ranges)
    around = _of_references(refs, speaks)
    matters = [*_of_decision(lims, vals), *(a_w for r in rngs for a_w in (r.low, r.high))] or around
    if not matters:
        raise InputError("a_w line", "nothing to draw", "at least one reference, limit, value or range")
    window, whole = _padded(matters), _padded(matters + around)
    near = whole.width <= ONE_LINE_FACTOR * window.width
    return LineSpec(
        window=whole if near else window,
        title=title,
        overview=None if near else whole,
        references=refs,
        speaks=speaks,
        limits=lims,
        values=vals,
        ranges=rngs,
    )


def _of_references(references: tuple[Reference, ...], speaks: Speaks | None) -> list[float]:
    ends = [a_w for r in references for a_w in (r.expected, r.read) if a_w is not None]
    return ends + ([speaks.low, speaks.high] if speaks else [])


def _of_decision(limits: tuple[LimitMark, ...], values: tuple[ValueMark, ...]) -> list[float]:
    ends = [a_w for m in limits for a_w in (m.value, m.acceptance) if a_w is not None]
    counted = [v for v in values if v.kind != "not used"] or list(values)
    return ends + [a_w for v in counted for a_w in (v.low, v.high)]


def _padded(ends: list[float]) -> Window:
    """The ends with some air around them, never narrower than the eye can use, inside what can be drawn."""
    low, high = min(ends), max(ends)
    air = max(PADDING * (high - low), (NARROWEST - (high - low)) / 2, NARROWEST / 10)
    return Window(max(LOWEST, low - air), min(HIGHEST, high + air))


def _finite(field: str, number: float) -> None:
    if not math.isfinite(number):
        raise InputError(field, number, "a finite number")


def _a_w(field: str, number: float) -> None:
    _finite(field, number)
    if not LOWEST <= number <= HIGHEST:
        raise RangeError(field, number, LOWEST, HIGHEST, why="a water activity as a fraction")
