"""Run rules of a chart of single values: each a small function over the points in units of sigma from the centre.

A point within a billionth of sigma of a line lies on it: decimals as typed would lie there, floats miss it by a hair.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

from isohume.foundation.quantity.errors import InputError

ON_THE_LINE = 1e-9


@dataclass(frozen=True, slots=True)
class Signal:
    """A point at which a rule speaks: its position from 0, the rule, where what it speaks of began, and which way.

    side: 1 above the centre or rising, -1 below it or falling.
    """

    index: int
    rule: str
    first: int
    side: int


def beyond_3_sigma(z: Sequence[float]) -> list[Signal]:
    """Points further than 3 sigma from the centre.

        abs(z_i) > 3
    z: the points, (value - centre)/sigma [1], in time order.
    Returns: a Signal a point [1].
    Example: 0, 3.1 -> the point 1; 3.0 lies on the limit and says nothing.
    Source: WesternElectric1956, test 1; ISO7870-2, criterion 1.
    """
    return _some_of(z, 1, 1, 3.0, "beyond 3 sigma")


def two_of_three_beyond_2_sigma(z: Sequence[float]) -> list[Signal]:
    """Points beyond 2 sigma where at least two of the last three are, on one side.

        count of z_j > 2 over j = i - 2 ... i is 2 or more, z_i among them; or the same below
    z: the points, (value - centre)/sigma [1], in time order.
    Returns: a Signal at the last point of each [1].
    Example: 2.5, 0, 2.5 -> the point 2.
    Source: WesternElectric1956, test 2; ISO7870-2.
    """
    return _some_of(z, 2, 3, 2.0, "2 of 3 beyond 2 sigma")


def four_of_five_beyond_1_sigma(z: Sequence[float]) -> list[Signal]:
    """Points beyond 1 sigma where at least four of the last five are, on one side.

        count of z_j > 1 over j = i - 4 ... i is 4 or more, z_i among them; or the same below
    z: the points, (value - centre)/sigma [1], in time order.
    Returns: a Signal at the last point of each [1].
    Example: 1.5, 1.5, 0, 1.5, 1.5 -> the point 4.
    Source: WesternElectric1956, test 3; ISO7870-2.
    """
    return _some_of(z, 4, 5, 1.0, "4 of 5 beyond 1 sigma")


def eight_on_one_side(z: Sequence[float]) -> list[Signal]:
    """Points that are at least the eighth in a row on one side of the centre.

        z_j > 0 for all j = i - 7 ... i; or all below. A point on the centre ends a run
    z: the points, (value - centre)/sigma [1], in time order.
    Returns: a Signal at the eighth point and at each further one [1].
    Example: eight points of 0.2 -> the point 7.
    Source: WesternElectric1956, test 4.
    """
    return _some_of(z, 8, 8, 0.0, "8 on one side")


def six_trending(z: Sequence[float]) -> list[Signal]:
    """Points that are at least the sixth in a row that rises, or that falls.

        z_(j) > z_(j-1) for all j = i - 4 ... i; or all smaller. Two alike end a trend
    z: the points, (value - centre)/sigma [1], in time order.
    Returns: a Signal at the sixth point and at each further one [1].
    Example: 0, 0.1, 0.2, 0.3, 0.4, 0.5 -> the point 5.
    Source: Nelson1984, test 3.
    """
    found, first, going = [], 0, 0
    for i in range(1, len(z)):
        step = z[i] - z[i - 1]
        now = 1 if step > ON_THE_LINE else -1 if step < -ON_THE_LINE else 0
        if now == 0:
            first = i
        elif now != going:
            first = i - 1
        going = now
        if i - first >= 5:
            found.append(Signal(i, "6 trending", first, going))
    return found


RULES: dict[str, Callable[[Sequence[float]], list[Signal]]] = {
    "beyond 3 sigma": beyond_3_sigma,
    "2 of 3 beyond 2 sigma": two_of_three_beyond_2_sigma,
    "4 of 5 beyond 1 sigma": four_of_five_beyond_1_sigma,
    "8 on one side": eight_on_one_side,
    "6 trending": six_trending,
}
"""Every rule by its name."""


def run_rule_signals(z: Sequence[float], rules: Iterable[str] = tuple(RULES)) -> list[Signal]:
    """What the chosen run rules say of points.

    z: the points, (value - centre)/sigma [1], in time order.
    rules: names of RULES [text].
    Returns: the signals [1], by position, then in the order of RULES.
    Raises: InputError for a rule that is not known.
    Example: eight points of 0.2 -> one signal, "8 on one side", at position 7.
    Source: WesternElectric1956; Nelson1984, test 3.
    """
    chosen = set(rules)
    for name in sorted(chosen - RULES.keys()):
        raise InputError("rules", name, ", ".join(RULES))
    order = {name: place for place, name in enumerate(RULES)}
    found = [signal for name, rule in RULES.items() if name in chosen for signal in rule(z)]
    return sorted(found, key=lambda signal: (signal.index, order[signal.rule]))


def _some_of(z: Sequence[float], need: int, of: int, beyond: float, rule: str) -> list[Signal]:
    """Points beyond a line where at least `need` of the last `of` are beyond it on the same side."""
    found = []
    line = beyond + ON_THE_LINE
    above: list[int] = []  # positions beyond the line on either side, the last `need` of them
    below: list[int] = []
    for i, value in enumerate(z):
        if value > line:
            side, before = 1, above
        elif value < -line:
            side, before = -1, below
        else:
            continue
        before.append(i)
        if len(before) >= need:
            first = before[-need]
            if i - first < of:
                found.append(Signal(i, rule, first, side))
    return found
