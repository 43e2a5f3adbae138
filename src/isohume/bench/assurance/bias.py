"""The bias a failed check showed, at the a_w of a reading: straight between the two references about it."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from isohume.bench.assurance.correction import HIGHEST_CAPS
from isohume.foundation.quantity.errors import InputError


@dataclass(frozen=True, slots=True)
class BiasPoint:
    """A reference of a check: what it should read, how far the instrument was off, with u.

    u_common: the part of u that all references share (the instrument's own), at most u.
    """

    name: str
    a_w: float
    deviation: float
    u: float
    u_common: float = 0.0

    @property
    def read(self) -> float:
        """What the instrument read there."""
        return self.a_w + self.deviation

    @property
    def variance_alone(self) -> float:
        """The part of the variance that is this reference's own: its value and the scatter of its readings."""
        return max(self.u**2 - self.u_common**2, 0.0)


@dataclass(frozen=True, slots=True)
class Bias:
    """The bias at a reading, with u, the references it stands between, and what has to be said about it.

    corrected = reading - bias. u_common: the part of u that is the instrument's own. outside: beyond the references.
    believed: false where an instrument was so far off, or a corrected value so impossible, that only a new test helps.
    """

    bias: float
    u: float
    u_common: float
    between: tuple[str, ...]
    outside: bool
    reasons: tuple[str, ...] = ()
    believed: bool = True


def bias_at(reading: float, points: Iterable[BiasPoint]) -> Bias:
    """The bias of a reading, interpolated in a_w between the two references of a check that bracket it.

        x = A1 + s (y - r1), s = (A2 - A1)/(r2 - r1), r = A + d;  bias = y - x = (1 - t) d1 + t d2 at the corrected x
        u^2 = s^2 ((1 - t)^2 v1 + t^2 v2 + u_common^2) + (t (1 - t) (d2 - d1))^2, v = u_reference^2 + s^2/n of each
        beyond the outermost: bias = d_end, q = (y - r_end)/(r_end - r_inner),
        u^2 = (q (d_end - d_inner))^2 + (1 + q)^2 v_end + q^2 v_inner + u_common^2
        where readings do not rise with the references: t = (y - A1)/(A2 - A1), (d2 - d1)^2 added to u^2
        not believed where a |d| > 0.05, or y - bias lies outside 0 to 1: the largest d^2 is added to u^2
    reading: the value as read [1], y.
    points: the references of the check [1], at least one, each at its own a_w.
    Returns: the Bias [1]; outside the references flagged, and what cannot be believed, each with the reason.
    Raises: InputError for no points, or two at one a_w.
    Example: NaCl -0.012, Mg(NO3)2 -0.009: 0.642 -> bias -0.0107, corrected 0.6527; 0.645 -> 0.6557.
    Source: JCGM100, 5.1 and 5.2 (propagation; the shared part added as fully correlated); the rule, the part for a
        bias that does not run straight, and 0.05 (the highest cap of a correction) none.
    """
    ordered = sorted(points, key=lambda point: point.a_w)
    if not math.isfinite(reading):
        raise InputError("reading", reading, "a finite a_w")
    _refuse(ordered)
    return _doubted(reading, _found(reading, ordered), ordered)


def _found(reading: float, ordered: Sequence[BiasPoint]) -> Bias:
    low, high = ordered[0], ordered[-1]
    if len(ordered) == 1:
        return _only_one(reading, low)
    if not all(one.read < other.read for one, other in pairwise(ordered)):
        return _disordered(reading, ordered)
    if reading < low.read:
        return _beyond(reading, low, ordered[1], "below the lowest")
    if reading > high.read:
        return _beyond(reading, high, ordered[-2], "above the highest")
    above = next(k for k in range(1, len(ordered)) if reading <= ordered[k].read)
    return _between(reading, ordered[above - 1], ordered[above])


def _doubted(reading: float, found: Bias, ordered: Sequence[BiasPoint]) -> Bias:
    """A number all the same; but what an instrument says that was so far off is not put right by any of it."""
    worst = max(ordered, key=lambda point: abs(point.deviation))
    corrected = reading - found.bias
    why = []
    if abs(worst.deviation) > HIGHEST_CAPS.offset:
        why.append(f"{worst.name} was off by {worst.deviation:+.4f}, more than {HIGHEST_CAPS.offset:g}")
    if not 0.0 <= corrected <= 1.0:
        why.append(f"{corrected:.4f} is no water activity")
    if not why:
        return found
    said = f"No correction can be believed: {'; '.join(why)}. Test the lot again."
    u = math.hypot(found.u, worst.deviation)
    return replace(found, u=u, reasons=(said, *found.reasons), believed=False)


def _refuse(ordered: Sequence[BiasPoint]) -> None:
    if not ordered:
        raise InputError("check", "no references", "at least one reference with its deviation")
    for point in ordered:
        if not (math.isfinite(point.deviation) and math.isfinite(point.u) and point.u >= point.u_common >= 0):
            raise InputError("u", point.u, f"a finite u of {point.name}, at least its shared part {point.u_common}")
    for one, other in pairwise(ordered):
        if not one.a_w < other.a_w:
            raise InputError("check", f"{one.name} and {other.name} at {one.a_w:.4f}", "references at different a_w")


def _between(reading: float, one: BiasPoint, other: BiasPoint) -> Bias:
    t = (reading - one.read) / (other.read - one.read)
    stretch = (other.a_w - one.a_w) / (other.read - one.read)
    common = (1 - t) * one.u_common + t * other.u_common
    alone = (1 - t) ** 2 * one.variance_alone + t**2 * other.variance_alone
    bias = (1 - t) * one.deviation + t * other.deviation
    bow = t * (1 - t) * (other.deviation - one.deviation)  # that it runs straight between unequal ends is not known
    u = math.hypot(stretch * math.sqrt(alone + common**2), bow)
    return Bias(bias, u, stretch * common, (one.name, other.name), False)


def _disordered(reading: float, ordered: Sequence[BiasPoint]) -> Bias:
    """Readings that do not rise with their references, as mixed-up bottles give: a number, with all its doubt."""
    above = next((k for k in range(1, len(ordered)) if reading <= ordered[k].a_w), len(ordered) - 1)
    one, other = ordered[above - 1], ordered[above]
    t = min(max((reading - one.a_w) / (other.a_w - one.a_w), 0.0), 1.0)
    bias = (1 - t) * one.deviation + t * other.deviation
    u = math.sqrt(max(one.u, other.u) ** 2 + (other.deviation - one.deviation) ** 2)
    why = (
        "The readings do not rise with the references: see whether bottles were mixed up before believing a correction."
    )
    outside = not ordered[0].a_w <= reading <= ordered[-1].a_w
    return Bias(bias, u, max(one.u_common, other.u_common), (one.name, other.name), outside, (why,))


def _beyond(reading: float, end: BiasPoint, inner: BiasPoint, side: str) -> Bias:
    """The nearest reference's bias; that it may go on straight from the inner one stands in u."""
    q = (reading - end.read) / (end.read - inner.read)
    alone = (1 + q) ** 2 * end.variance_alone + q**2 * inner.variance_alone
    u = math.sqrt((q * (end.deviation - inner.deviation)) ** 2 + alone + end.u_common**2)
    widened = f"with u widened from {end.u:.4f} to {u:.4f}"
    why = f"{reading:.4f} lies {side} reference, {end.name}: its bias is taken, {widened}."
    return Bias(end.deviation, u, end.u_common, (end.name,), True, (why,))


def _only_one(reading: float, only: BiasPoint) -> Bias:
    """One reference says nothing about elsewhere: its whole bias stands in u beside it."""
    if reading == only.read:
        return Bias(only.deviation, only.u, only.u_common, (only.name,), False)
    u = math.hypot(only.u, only.deviation)
    why = f"{only.name} was the only reference: its bias is taken, and as u too: it says nothing about {reading:.4f}."
    return Bias(only.deviation, u, only.u_common, (only.name,), True, (why,))
