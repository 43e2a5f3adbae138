"""A check on reference solutions: does the instrument tell the truth today, and in which range may it speak?

A group passes only if the deviation is within the laboratory's own limit *and* E_n is at most 1: E_n alone
rewards a large claimed uncertainty.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from typing import Literal

from isohume.foundation.metrology.straight_line import StraightLine, weighted_line
from isohume.foundation.quantity.errors import InputError
from isohume.foundation.solutions import ReferenceValue, reference_value

DEFAULT_LIMIT = 0.005
DEFAULT_U_INSTRUMENT = 0.0015


@dataclass(frozen=True, slots=True)
class CheckReading:
    """One reading of a reference solution, with the temperature it was read at."""

    solution: str
    molality: float | None
    temperature_c: float
    a_w: float
    read_at: datetime | None = None
    lot: str = ""
    row: int | None = None


@dataclass(frozen=True, slots=True)
class CheckedSolution:
    """One reference solution of a check: what it should read, what was read, and whether that is within."""

    solution: str
    kind: str
    molality: float | None
    temperature_c: float
    n: int
    mean: float
    expected: float
    deviation: float
    u_deviation: float
    e_n: float
    within: bool
    u_reference: float
    source: str
    lots: tuple[str, ...]
    largest_deviation: float = 0.0

    def as_json(self) -> dict[str, object]:
        """The keys of the command line's contract, and the reference's u, source and lots."""
        return {
            "solution": self.solution,
            "kind": self.kind,
            "molality": self.molality,
            "temperature_c": self.temperature_c,
            "n": self.n,
            "mean": self.mean,
            "expected": self.expected,
            "deviation": self.deviation,
            "u_deviation": self.u_deviation,
            "e_n": self.e_n,
            "within": self.within,
            "u_reference": self.u_reference,
            "largest_deviation": self.largest_deviation,
            "source": self.source,
            "lots": list(self.lots),
        }


@dataclass(frozen=True, slots=True)
class Check:
    """The result of a check: its solutions, the line through them, the range it covers and the verdict."""

    solutions: tuple[CheckedSolution, ...]
    limit: float
    covers_a_w: tuple[float, float] | None
    line: StraightLine | None
    verdict: Literal["pass", "fail"]
    reasons: tuple[str, ...]
    first_read_at: datetime | None = None
    last_read_at: datetime | None = None
    all_timed: bool = False

    def as_json(self) -> dict[str, object]:
        """The keys of the command line's contract, numbers unrounded."""
        line = self.line
        return {
            "solutions": [solution.as_json() for solution in self.solutions],
            "limit": self.limit,
            "covers_a_w": None if self.covers_a_w is None else list(self.covers_a_w),
            "offset": line.offset if line else None,
            "slope": line.slope if line else None,
            "u_offset": line.u_offset if line else None,
            "u_slope": line.u_slope if line else None,
            "covariance": line.covariance if line else None,
            "verdict": self.verdict,
            "reasons": list(self.reasons),
        }

    @property
    def steady(self) -> bool:
        """Whether every single reading is within the limit, so that no mean hides a failed one."""
        return all(within_limit(s.largest_deviation, self.limit) for s in self.solutions)

    @property
    def within(self) -> tuple[CheckedSolution, ...]:
        """The solutions that passed, in order of their expected value."""
        return tuple(sorted((s for s in self.solutions if s.within), key=lambda s: s.expected))


def judge_check(
    readings: Iterable[CheckReading],
    limit: float = DEFAULT_LIMIT,
    u_instrument: float = DEFAULT_U_INSTRUMENT,
) -> Check:
    """Judge readings of reference solutions, grouped by solution and molality.

        deviation = mean(read - expected);  u_deviation = sqrt(u_instrument^2 + s^2/n + u_reference^2)
        E_n = deviation / (2 u_deviation);  within = |deviation| <= limit and |E_n| <= 1
    readings: readings of reference solutions, each at its own temperature [1], at least one.
    limit: the laboratory's own limit for the deviation [1], greater than zero.
    u_instrument: standard uncertainty of the instrument's reading, repeatability left out [1], zero or more.
    Returns: the Check [text]; verdict "pass" only where every group is within.
    Raises: InputError for no readings, a reference without a known uncertainty, unknown solutions, ranges.
    Example: MgCl2 0.3290 at 24.8 and 0.3282 at 24.9 degC -> deviation 0.0006258, E_n 0.1797.
    Source: ISO13528, 9.7 (E_n); the limit is the laboratory's own.
    """
    if not (limit > 0 and math.isfinite(limit)):
        raise InputError("limit", limit, "a finite a_w greater than zero")
    if not (u_instrument >= 0 and math.isfinite(u_instrument)):
        raise InputError("u_instrument", u_instrument, "a finite a_w, zero or more")
    groups = _grouped(readings)
    if not groups:
        raise InputError("check", "no readings", "at least one reading of a reference solution")
    solutions = tuple(_judge_group(group, limit, u_instrument) for group in groups.values())
    times = [r.read_at for pairs in groups.values() for r, _ in pairs if r.read_at is not None]
    within = sorted(s.expected for s in solutions if s.within)
    return Check(
        solutions=solutions,
        limit=limit,
        covers_a_w=(within[0], within[-1]) if len(within) >= 2 else None,
        line=line_through(solutions),
        verdict="pass" if all(s.within for s in solutions) else "fail",
        reasons=tuple(why for s in solutions if (why := _why_not(s, limit) or _scattered(s, limit))),
        first_read_at=min(times) if times else None,
        last_read_at=max(times) if times else None,
        all_timed=len(times) == sum(map(len, groups.values())),
    )


_Pairs = list[tuple[CheckReading, ReferenceValue]]


def _grouped(readings: Iterable[CheckReading]) -> dict[tuple[str, float | None], _Pairs]:
    groups: dict[tuple[str, float | None], _Pairs] = {}
    for reading in readings:
        try:
            expected = reference_value(reading.solution, reading.temperature_c, reading.molality)
        except InputError as error:
            raise error.at(row=reading.row) from None
        groups.setdefault((expected.solution, expected.molality), []).append((reading, expected))
    return groups


def _judge_group(group: _Pairs, limit: float, u_instrument: float) -> CheckedSolution:
    n = len(group)
    deviations = [reading.a_w - expected.a_w for reading, expected in group]
    deviation = math.fsum(deviations) / n
    temperature_c = math.fsum(reading.temperature_c for reading, _ in group) / n
    first = group[0][1]
    reference = reference_value(first.solution, temperature_c, first.molality)
    if reference.u is None:
        why = "; ".join(reference.cautions)
        raise InputError(
            "temperature_c",
            f"{temperature_c:.6g}",
            f"a temperature at which the uncertainty of {first.solution} is published ({why})",
            row=group[0][0].row,
        )
    u_deviation = math.sqrt(u_instrument**2 + _variance_of_mean(deviations, deviation) + reference.u**2)
    e_n = deviation / (2 * u_deviation)
    return CheckedSolution(
        solution=first.solution,
        kind=first.kind,
        molality=first.molality,
        temperature_c=temperature_c,
        n=n,
        mean=math.fsum(reading.a_w for reading, _ in group) / n,
        expected=math.fsum(expected.a_w for _, expected in group) / n,
        deviation=deviation,
        u_deviation=u_deviation,
        e_n=e_n,
        within=within_limit(deviation, limit) and abs(e_n) <= 1,
        u_reference=reference.u,
        source=reference.source,
        largest_deviation=max(deviations, key=abs),
        lots=tuple(dict.fromkeys(reading.lot for reading, _ in group if reading.lot)),
    )


def within_limit(deviation: float, limit: float) -> bool:
    """Whether |deviation| <= limit, judged as decimals so that binary dust does not fail an exact limit.

    deviation: mean deviation [1], any.
    limit: the laboratory's limit [1], greater than zero.
    Returns: the judgement [text]; the deviation is taken to 12 decimals, far below any reading's digits.
    Source: none.
    """
    return abs(Decimal(repr(round(deviation, 12)))) <= Decimal(repr(limit))


def _variance_of_mean(deviations: Sequence[float], mean: float) -> float:
    n = len(deviations)
    if n < 2:
        return 0.0
    return math.fsum((d - mean) ** 2 for d in deviations) / (n - 1) / n


def line_through(solutions: Sequence[CheckedSolution]) -> StraightLine | None:
    """The weighted line mean(read) = offset + slope * mean(expected) through checked solutions.

    solutions: checked solutions [1]; fewer than two, or all at one expected value, give no line.
    Returns: the StraightLine [1], or None.
    Source: JCGM100, H.3; weights 1/u_deviation^2 taken as known.
    """
    expected = [s.expected for s in solutions]
    if len(solutions) < 2 or len(set(expected)) < 2 or any(s.u_deviation == 0 for s in solutions):
        return None
    return weighted_line(expected, [s.mean for s in solutions], [s.u_deviation for s in solutions])


def _name(solution: CheckedSolution) -> str:
    return solution.solution + ("" if solution.molality is None else f" {solution.molality:g} mol/kg")


def _scattered(solution: CheckedSolution, limit: float) -> str:
    """A mean may hide its readings: one beyond the limit is said, and gives no standing."""
    if within_limit(solution.largest_deviation, limit):
        return ""
    return (
        f"{_name(solution)}: the mean is within, but a single reading is off by {solution.largest_deviation:+.4f}, "
        f"beyond the limit {limit:g}; find out why before measuring."
    )


def _why_not(solution: CheckedSolution, limit: float) -> str:
    if solution.within:
        return ""
    name = _name(solution)
    parts = []
    if not within_limit(solution.deviation, limit):
        parts.append(f"deviation {solution.deviation:+.4f} is beyond the limit {limit:g}")
    if abs(solution.e_n) > 1:
        parts.append(f"E_n {solution.e_n:+.2f} is beyond 1")
    low_high = "low" if solution.deviation < 0 else "high"
    return (
        f"{name} reads {low_high}: {' and '.join(parts)} (expected {solution.expected:.4f}, read {solution.mean:.4f})."
    )
