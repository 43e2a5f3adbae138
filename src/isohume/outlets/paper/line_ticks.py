"""Ticks of an a_w line: steps a person counts in, few enough to read, exact in their decimals."""

from __future__ import annotations

import math
from dataclasses import dataclass

from isohume.outlets.paper.line_spec import Window

# (ten-thousandths of a_w, decimals of the label, minor steps in one step)
STEPS = (
    (5, 4, 5),
    (10, 3, 5),
    (20, 3, 4),
    (50, 3, 5),
    (100, 2, 5),
    (200, 2, 4),
    (500, 2, 5),
    (1000, 1, 5),
    (2000, 1, 4),
)
PER_UNIT = 10_000


@dataclass(frozen=True, slots=True)
class Tick:
    """One tick: its place, and its words (empty for a minor tick)."""

    a_w: float
    text: str


def ticks(window: Window, most: int = 9) -> tuple[Tick, ...]:
    """The ticks inside a window: at most `most` labelled ones, minor ones between, left to right."""
    size, decimals, parts = next((step for step in STEPS if window.width * PER_UNIT / step[0] <= most - 1), STEPS[-1])
    minor = size / parts
    first, last = math.ceil(window.low * PER_UNIT / minor), math.floor(window.high * PER_UNIT / minor)
    return tuple(
        Tick(i * minor / PER_UNIT, f"{i * minor / PER_UNIT:.{decimals}f}" if i % parts == 0 else "")
        for i in range(first, last + 1)
    )
