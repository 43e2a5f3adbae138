"""What a drawing of points and lines against each other shows: two instruments, rounds, readers and parts."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Mark = Literal["dot", "square", "lozenge", "ring", "triangle", "cross"]


@dataclass(frozen=True, slots=True)
class XyPoint:
    """A point; marks are told apart by shape. low, high: the ends of its interval upwards, where it has one."""

    x: float
    y: float
    mark: Mark = "dot"
    low: float | None = None
    high: float | None = None


@dataclass(frozen=True, slots=True)
class XyLine:
    """A line through points, called by its name in the key; dash: strokes and gaps, "" for a full line."""

    name: str
    points: tuple[tuple[float, float], ...]
    dash: str = ""
    width: float = 1.2


@dataclass(frozen=True, slots=True)
class XySpec:
    """The whole drawing. x_names: words in place of numbers across, one for each of 1, 2, 3 and so on."""

    title: str
    x_title: str
    y_title: str
    points: tuple[XyPoint, ...]
    lines: tuple[XyLine, ...] = ()
    levels: tuple[XyLine, ...] = ()
    x_names: tuple[str, ...] = ()
    mark_names: tuple[tuple[Mark, str], ...] = ()
    signed: bool = False
