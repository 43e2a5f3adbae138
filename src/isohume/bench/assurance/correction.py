"""A correction of readings: a straight line through references, with its range, its caps and its uncertainty.

What the instrument said stays beside what is made of it. Nothing is carried beyond the outermost references.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal

from isohume.bench.assurance.check import Check, within_limit
from isohume.foundation.metrology.straight_line import StraightLine, weighted_line
from isohume.foundation.quantity.errors import InputError, RangeError

_PLACES = Decimal("0.0000001")  # of offset and slope: far below any reading's digits
_READ_PLACES = 6
_ROUNDS, _SETTLED = 100, 1e-13


@dataclass(frozen=True, slots=True)
class Caps:
    """How far a correction may go: the offset, the slope from 1, and the walk of all corrections together, in a_w."""

    offset: float
    slope: float
    walk: float


DEFAULT_CAPS = Caps(offset=0.02, slope=0.05, walk=0.02)
"""Twice the published collaborative performance of +-0.01 in a_w, and 5 % of slope (choices of isohume, no source)."""
HIGHEST_CAPS = Caps(offset=0.05, slope=0.10, walk=0.05)
"""Beyond these an instrument needs service, not a correction (no source)."""


@dataclass(frozen=True, slots=True)
class ReadReference:
    """A reference as read and as it should be, each with its own standard uncertainty."""

    name: str
    read: float
    u_read: float
    expected: float
    u_expected: float


@dataclass(frozen=True, slots=True)
class FittedCorrection:
    """The line expected = offset + slope * read through references, and what it leaves at each of them.

    `widened` is the factor by which the line's uncertainty was widened because the references scatter about it more
    than their uncertainties say; 1 where they do not.
    """

    references: tuple[ReadReference, ...]
    line: StraightLine
    residuals: tuple[float, ...]
    widened: float

    @property
    def lowest_read(self) -> float:
        """The lowest reading the correction holds for."""
        return min(reference.read for reference in self.references)

    @property
    def highest_read(self) -> float:
        """The highest reading the correction holds for."""
        return max(reference.read for reference in self.references)


@dataclass(frozen=True, slots=True)
class Correction:
    """A version of a correction: corrected = offset + slope * read, for readings in its range, from a moment on.

    Coefficients are decimals, so that a corrected reading is exact and anybody finds the same digits.
    """

    id: str
    version: str
    offset: Decimal
    slope: Decimal
    u_offset: float
    u_slope: float
    covariance: float
    lowest_read: Decimal
    highest_read: Decimal
    since: datetime
    source: str

    def holds_for(self, read: Decimal) -> bool:
        """Whether a reading lies between the outermost references, as read."""
        return self.lowest_read <= read <= self.highest_read

    def corrected(self, read: Decimal) -> Decimal:
        """The corrected reading; refused beyond the outermost references."""
        if not self.holds_for(read):
            why = f"the references of correction {self.version}, as read: a correction is never extrapolated"
            raise RangeError("a_w", float(read), float(self.lowest_read), float(self.highest_read), why=why)
        return (self.offset + self.slope * read).normalize()

    def on_line(self, read: float) -> float:
        """Where the line lies at a reading, range or not: only a check may ask, to judge the line itself."""
        return float(self.offset) + float(self.slope) * read

    def u_line(self, read: float) -> float:
        """The standard uncertainty of the line at a reading, covariance of offset and slope included."""
        variance = self.u_offset**2 + (read * self.u_slope) ** 2 + 2 * read * self.covariance
        return math.sqrt(max(variance, 0.0))

    def u_corrected(self, read: float, u_read: float) -> float:
        """The standard uncertainty of a corrected reading whose own is u_read, independent of the line."""
        return math.hypot(self.u_line(read), float(self.slope) * u_read)

    def u_added(self, read: float, u_read: float) -> float:
        """What the correction adds in quadrature to u_read: the line, and a slope above 1 that stretches u_read."""
        stretched = max(float(self.slope) ** 2 - 1.0, 0.0) * u_read**2
        return math.sqrt(self.u_line(read) ** 2 + stretched)

    @property
    def named(self) -> str:
        """What it is called in reasons and tables."""
        return f"correction {self.version} of {self.id}"


def references_of(check: Check) -> tuple[ReadReference, ...]:
    """The references of a check as a correction takes them, the lowest first.

        u_read^2 = u_deviation^2 - u_reference^2
    check: the judged check, of readings as the instrument gave them [text].
    Returns: one ReadReference a solution [1].
    Source: none.
    """
    found = (
        ReadReference(
            s.solution if s.molality is None else f"{s.solution} {s.molality:g} mol/kg",
            s.mean,
            math.sqrt(max(s.u_deviation**2 - s.u_reference**2, 0.0)),
            s.expected,
            s.u_reference,
        )
        for s in check.solutions
    )
    return tuple(sorted(found, key=lambda reference: reference.read))


def fit_correction(references: Sequence[ReadReference]) -> FittedCorrection:
    """The line from readings to true values through references, both with their uncertainties.

        expected = b0 + b1 read;  weights 1/(u_expected^2 + b1^2 u_read^2), iterated at the adjusted points;
        covariance of (b0, b1) times chi^2/(n - 2) where that is above 1
    references: at least two references with different readings [1]; through two the line is exact.
    Returns: the FittedCorrection [1].
    Raises: InputError for fewer than two references, one reading only, or a reference without any uncertainty.
    Example: x 1.2 1.9 2.9 4.0 4.7 5.9 with u 0.2, y 3.4 4.4 7.2 8.5 10.8 13.5 with u 0.2 (three) and 0.4 ->
        offset 0.5788, slope 2.159, chi^2 2.743.
    Source: ISOTS28037, 7 (errors in both coordinates).
    """
    points = tuple(references)
    if len(points) < 2:
        raise InputError("references", f"{len(points)}", "at least two references: one alone gives no slope")
    for point in points:
        if not math.hypot(point.u_read, point.u_expected) > 0:
            raise InputError(f"u of {point.name}", 0, "a standard uncertainty above zero, read or expected")
    line = _line_with_errors_in_both(points)
    residuals = tuple(p.expected - line.predict(p.read) for p in points)
    scatter = _chi_squared(points, line, residuals) / line.dof if line.dof > 0 else 0.0
    return FittedCorrection(points, _widened(line, max(scatter, 1.0)), residuals, math.sqrt(max(scatter, 1.0)))


def _line_with_errors_in_both(points: Sequence[ReadReference]) -> StraightLine:
    """The line at which the weighted distances of the points in both coordinates are least."""
    x, y = [p.read for p in points], [p.expected for p in points]
    slope = weighted_line(x, y, [math.hypot(p.u_read, p.u_expected) for p in points]).slope
    for _ in range(_ROUNDS):
        u = [math.hypot(p.u_expected, slope * p.u_read) for p in points]
        weights = [1.0 / one**2 for one in u]
        total = math.fsum(weights)
        x_mean = math.fsum(w * a for w, a in zip(weights, x, strict=True)) / total
        y_mean = math.fsum(w * b for w, b in zip(weights, y, strict=True)) / total
        away = [
            w * ((p.read - x_mean) * p.u_expected**2 + slope * (p.expected - y_mean) * p.u_read**2)
            for w, p in zip(weights, points, strict=True)
        ]
        rise = math.fsum(w * d * (p.expected - y_mean) for w, d, p in zip(weights, away, points, strict=True))
        run = math.fsum(w * d * (p.read - x_mean) for w, d, p in zip(weights, away, points, strict=True))
        before, slope = slope, rise / run
        if abs(slope - before) <= _SETTLED * abs(slope):
            break
    offset = y_mean - slope * x_mean
    adjusted = [x_mean + d for d in away]
    return weighted_line(adjusted, [offset + slope * a for a in adjusted], u)


def _chi_squared(points: Sequence[ReadReference], line: StraightLine, residuals: Sequence[float]) -> float:
    """The weighted squares of what the line leaves, with the uncertainties of both coordinates."""
    return math.fsum(
        (r / math.hypot(p.u_expected, line.slope * p.u_read)) ** 2 for p, r in zip(points, residuals, strict=True)
    )


def _widened(line: StraightLine, variance: float) -> StraightLine:
    """The same line, its variances times a factor: references that scatter more than they say widen it."""
    factor = math.sqrt(variance)
    return StraightLine(
        line.offset,
        line.slope,
        line.u_offset * factor,
        line.u_slope * factor,
        line.covariance * variance,
        line.n,
        line.dof,
        line.x_mean,
        line.u_at_mean * factor,
    )


def make_correction(fitted: FittedCorrection, of: str, version: str, since: datetime, source: str) -> Correction:
    """A version of a correction from a fitted line, its coefficients rounded to the digits that are kept.

    fitted: the line through references [1].
    of: whose readings it corrects [text].
    version: its version [text].
    since: the moment from which it holds [time].
    source: the check it rests on [text].
    Returns: the Correction [text].
    Source: none.
    """
    line = fitted.line
    return Correction(
        id=of,
        version=version,
        offset=Decimal(repr(line.offset)).quantize(_PLACES),
        slope=Decimal(repr(line.slope)).quantize(_PLACES),
        u_offset=line.u_offset,
        u_slope=line.u_slope,
        covariance=line.covariance,
        lowest_read=Decimal(repr(round(fitted.lowest_read, _READ_PLACES))),
        highest_read=Decimal(repr(round(fitted.highest_read, _READ_PLACES))),
        since=since,
        source=source,
    )


def against_correction(fitted: FittedCorrection, caps: Caps, limit: float, walked: float) -> tuple[str, ...]:
    """Why a correction may not be made: nothing to correct, beyond a cap, references that do not lie on one line.

        |b0| <= caps.offset, |b1 - 1| <= caps.slope, |expected - line| <= limit, |walk| <= caps.walk
    fitted: the line through references [1].
    caps: the method's caps [1].
    limit: the laboratory's own limit of a check [1].
    walked: the largest sum of all changes of scale with this one, as `cumulative_walk` gives it [1].
    Returns: every reason, none where it may be made [text].
    Source: none (the caps are the laboratory's own).
    """
    line, reasons = fitted.line, []
    if all(abs(line.predict(r.read) - r.read) <= line.predict_u(r.read) for r in fitted.references):
        reasons.append(
            "The correction is smaller than its own uncertainty at every reference: there is nothing to correct."
        )
    if abs(line.offset) > caps.offset:
        reasons.append(
            f"The offset {line.offset:+.4f} is beyond the cap of {caps.offset:g}: have the instrument seen to."
        )
    if abs(line.slope - 1) > caps.slope:
        reasons.append(
            f"The slope {line.slope:.4f} is {abs(line.slope - 1):.4f} from 1, beyond the cap of {caps.slope:g}: "
            "a slope that far from 1 is a dirty or worn sensor, not a scale."
        )
    for reference, residual in zip(fitted.references, fitted.residuals, strict=True):
        if not within_limit(residual, limit):
            reasons.append(
                f"{reference.name} lies {residual:+.4f} off the line, beyond the check's limit {limit:g}: "
                "one of the references is wrong, or the sensor is not straight."
            )
    if abs(walked) > caps.walk:
        reasons.append(
            f"All changes of scale together would come to {walked:+.4f}, beyond the cap of {caps.walk:g}: "
            "corrections that walk one way hide something; clean, and have the instrument serviced."
        )
    return tuple(reasons)


@dataclass(frozen=True, slots=True)
class Move:
    """A change of scale: how far it moved what is stated at the lowest and highest reference; held beyond them.

    `anew` starts the walk afresh: the instrument was serviced and calibrated by somebody who answers for it.
    """

    at: datetime
    what: str
    low: float
    low_shift: float
    high: float
    high_shift: float
    anew: bool = False

    def shift_at(self, a_w: float) -> float:
        """The shift at an a_w: straight between the two references, constant beyond them."""
        if self.high == self.low:
            return self.low_shift
        share = min(max((a_w - self.low) / (self.high - self.low), 0.0), 1.0)
        return self.low_shift + share * (self.high_shift - self.low_shift)


@dataclass(frozen=True, slots=True)
class Walked:
    """A change of scale with the sum of all up to it, each where it is largest; signed."""

    move: Move
    shift: float
    total: float


def cumulative_walk(moves: Iterable[Move]) -> tuple[Walked, ...]:
    """How far all changes of scale together have moved what an instrument states, after each of them.

        total_k = sum of the shifts 1..k at the a_w where its size is largest
    moves: the changes of scale, in any order [1]; one with `anew` begins the sum again after itself.
    Returns: one Walked a move, in time order [1].
    Example: three moves of +0.004 -> totals 0.004, 0.008, 0.012; +0.004 and then -0.004 -> 0.004, 0.
    Source: none.
    """
    ordered = sorted(moves, key=lambda move: move.at)
    found: list[Walked] = []
    since: list[Move] = []
    for move in ordered:
        since.append(move)
        places = {place for one in since for place in (one.low, one.high)}
        totals = [math.fsum(one.shift_at(place) for one in since) for place in sorted(places)]
        shift = max(move.low_shift, move.high_shift, key=abs)
        found.append(Walked(move, shift, 0.0 if move.anew else max(totals, key=abs)))
        if move.anew:
            since = []
    return tuple(found)
