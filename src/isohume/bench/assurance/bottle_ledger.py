"""The bottle ledger: does a bottle of a reference solution move, or the instrument that reads it?

Each bottle is compared with its siblings (the same solution) on the same instruments; an instrument with all its
references. What fits the readings best by a stated margin is named; where nothing does, the answer is that it cannot
be told apart, and what to read next.
"""

from __future__ import annotations

import math
from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from isohume.bench.assurance.bottle_findings import BottleLedger, BottleReading, Cause, Kind, Movement, OwnSlope
from isohume.bench.assurance.movement_fit import (
    Floats,
    Residuals,
    Scatter,
    Slope,
    Whitening,
    scatter_of,
    successive,
    whitening,
)
from isohume.foundation.metrology.student import student_quantile
from isohume.foundation.quantity.errors import InputError

FALSE_ALARMS_A_YEAR = 0.1
"""The most false alarms a bottle and year, and an instrument and year: the laboratory's own choice (no source)."""
ODDS = 19.0
"""A cause is named where it fits the readings 19 times better than any other: 95 to 5 (no source)."""
DAYS_AHEAD = 30.0
"""A movement matters that would use up the limit of the check within the days the due list looks ahead (no source)."""
FEWEST_CHECKS = 3
"""Two checks make a difference, three the first slope with anything left over."""
_MOST_MOVEMENTS = 8


@dataclass(frozen=True, slots=True)
class _Try:
    """One ramp of one cause: its column, how long it has run, and the t it must pass."""

    cause: Cause
    column: Floats
    length: float
    threshold: float
    dof: float


def bottle_ledger(
    readings: Iterable[BottleReading],
    limit: float,
    false_alarms_a_year: float = FALSE_ALARMS_A_YEAR,
    known: Mapping[str, Scatter] | None = None,
) -> BottleLedger:
    """Which bottles moved, which instruments, and where that cannot be told apart.

        deviation = baseline(bottle, instrument) + slope * days since the onset + check + scatter
        moved: |slope|/u > t(1 - alpha/2), alpha = rate/(checks a year, onsets);
        |slope| * (days so far + 30) >= limit;  named: exp(difference of chi-squared/2) >= 19
    readings: readings of reference bottles [1], in any order; each bottle's own first readings are its baseline.
    limit: the laboratory's limit of the check [1], greater than zero.
    false_alarms_a_year: the most false alarms a bottle or instrument and year [1], above zero.
    known: the scatter of instruments where it is known from elsewhere [1]; otherwise from these readings.
    Returns: the BottleLedger; a bottle alone on one instrument cannot be told from it, whatever moves.
    Raises: InputError for a limit, rate, u, day or deviation that is not allowed.
    Example: bottle A +0.001 a day, its sibling B flat, s 0.0008: A flagged by day 5, the instrument not.
    Source: none (generalised likelihood ratio over onsets; the rate is held by the union of its tests).
    """
    rows = sorted(readings, key=lambda r: (r.day, r.check, r.bottle))
    _need(rows, limit, false_alarms_a_year)
    if not rows:
        return BottleLedger((), (), {}, limit, false_alarms_a_year, {})
    scatter = {**_scatters(rows), **(known or {})}
    white = _whitening(rows, scatter)
    y = white(np.array([r.deviation for r in rows]))[:, 0]
    spoken_for = white(_baselines(rows))
    tries = _tries(rows, scatter, white, false_alarms_a_year)
    visible = _visible(Residuals(y, spoken_for), tries, limit)
    movements: list[Movement] = []
    taken: set[Cause] = set()
    while tries and len(taken) < _MOST_MOVEMENTS:
        found = _next_movement(Residuals(y, spoken_for), [t for t in tries if t.cause not in taken], limit)
        if found is None:
            break
        movement, best = found
        taken.add(best)
        if not best.epoch:
            movements.append(movement)
        # every onset of it is taken out, so that a step or a curve is not put down to something else as well
        spoken_for = np.hstack([spoken_for, *[t.column for t in tries if t.cause == best]])
    own = tuple(_own_slopes(rows, white, y, spoken_for, taken))
    return BottleLedger(tuple(movements), own, scatter, limit, false_alarms_a_year, visible)


def _scatters(rows: Sequence[BottleReading]) -> dict[str, Scatter]:
    """Each instrument's own scatter; one with too few readings takes the others' pooled."""
    of: dict[str, list[tuple[str, str, float, float]]] = defaultdict(list)
    for r in rows:
        of[r.instrument].append((r.bottle, r.check, r.day, r.deviation))
    found = {name: scatter_of(*successive(part)) for name, part in of.items()}
    known = [one for one in found.values() if one is not None]
    if not known:
        return {}
    widest = max(known, key=lambda one: one.s_reading)
    return {name: one or widest for name, one in found.items()}


def _whitening(rows: Sequence[BottleReading], scatter: dict[str, Scatter]) -> Whitening:
    """A reading scatters by what its instrument showed, and not by less than it can be read to."""
    least: dict[str, float] = defaultdict(float)
    for r in rows:
        least[r.session] = max(least[r.session], r.u)
    single = [max(scatter[r.instrument].s_reading if scatter else 0.0, least[r.session]) for r in rows]
    whole = [scatter[r.instrument].s_check if scatter else 0.0 for r in rows]
    return whitening([r.session for r in rows], single, whole)


def _baselines(rows: Sequence[BottleReading]) -> Floats:
    pairs = sorted({(r.bottle, r.instrument, r.epoch) for r in rows})
    return np.array([[float((r.bottle, r.instrument, r.epoch) == pair) for pair in pairs] for r in rows])


def _causes(rows: Sequence[BottleReading]) -> dict[Cause, Floats]:
    """Everything that may have moved, with the readings it touches."""
    now = {r.instrument: r.epoch for r in rows}  # rows are in time: the last one stays
    found: dict[Cause, Floats] = {}
    for position, r in enumerate(rows):
        for cause in (Cause("bottle", r.bottle), *_instrument_causes(r, now)):
            if cause not in found:
                found[cause] = np.zeros(len(rows))
            found[cause][position] = 1.0
    return found


def _instrument_causes(r: BottleReading, now: Mapping[str, str]) -> tuple[Cause, Cause]:
    """An instrument's stretch of life is a cause of its own: what it did before it was adjusted is over."""
    epoch = "" if r.epoch == now[r.instrument] else r.epoch or "before"
    return Cause("instrument", r.instrument, "", epoch), Cause("instrument", r.instrument, r.solution, epoch)


def _tries(rows: Sequence[BottleReading], scatter: dict[str, Scatter], white: Whitening, rate: float) -> list[_Try]:
    if not scatter:
        return []
    day = np.array([r.day for r in rows])
    causes = _causes(rows)
    shares = Counter((cause.kind, cause.name) for cause in causes)
    found = []
    for cause, mask in causes.items():
        touched = [r for r, on in zip(rows, mask, strict=True) if on]
        moments = list({r.session: r.day for r in reversed(touched)}.values())
        lengths = _lengths(moments)
        if not lengths:
            continue
        dof = min(scatter[name].dof for name in {r.instrument for r in touched})
        last, first = max(moments), min(moments)
        looks = (len(moments) - 1) / (last - first) * 365.25
        alpha = min(0.5, rate / (looks * len(lengths) * shares[cause.kind, cause.name]))
        threshold = student_quantile(1.0 - 0.5 * alpha, dof)
        ramps = mask * np.maximum(0.0, day - last + np.array(lengths)[:, None])
        columns = white(ramps.T)
        found += [_Try(cause, columns[:, [k]], length, threshold, dof) for k, length in enumerate(lengths)]
    return found


def _lengths(days: Sequence[float]) -> list[float]:
    """How long a movement may have run: the whole time, half of it, a quarter; while it holds three checks in time."""
    moments = sorted(set(days))
    if len(moments) < FEWEST_CHECKS:
        return []
    last, third_last = moments[-1], moments[-FEWEST_CHECKS]
    found, span = [], last - moments[0]
    while third_last >= last - span:
        found.append(span)
        span /= 2.0
    return found


def _next_movement(left: Residuals, tries: Sequence[_Try], limit: float) -> tuple[Movement, Cause] | None:
    """The movement that explains most, of those beyond chance that matter; with what explains nearly as much."""
    if not tries:
        return None
    slopes = left.slopes(np.hstack([one.column for one in tries]))
    best: dict[Cause, tuple[Slope, _Try]] = {}
    for slope, one in zip(slopes, tries, strict=True):
        if slope is not None and (one.cause not in best or slope.gain > best[one.cause][0].gain):
            best[one.cause] = (slope, one)
    beyond = [pair for pair in best.values() if _beyond_chance(*pair) and _matters(*pair, limit)]
    if not beyond:
        return None
    slope, one = max(beyond, key=lambda pair: (round(pair[0].gain, 9), pair[1].cause.solution == ""))
    margin = 2.0 * math.log(ODDS)
    rivals = [cause for cause, (other, _) in best.items() if slope.gain - other.gain < margin]
    movement = Movement(
        *_named(one.cause, rivals),
        slope_a_day=slope.value,
        u_slope=slope.u,
        dof=one.dof,
        since_days=one.length,
        threshold=one.threshold,
        days_to_limit=max(0.0, limit / abs(slope.value) - one.length),
    )
    return movement, one.cause


def _beyond_chance(slope: Slope, one: _Try) -> bool:
    return abs(slope.value) > one.threshold * slope.u


def _matters(slope: Slope, one: _Try, limit: float) -> bool:
    return abs(slope.value) * (one.length + DAYS_AHEAD) >= limit


def _named(best: Cause, rivals: Sequence[Cause]) -> tuple[Kind, tuple[Cause, ...]]:
    """What may be said: one cause, several bottles, or neither bottle nor instrument."""
    causes = [best, *[cause for cause in rivals if cause != best]]
    kinds = {cause.kind for cause in causes}
    if kinds == {"instrument"} and len({cause.name for cause in causes}) == 1:
        return "instrument", (best,)
    if len(kinds) > 1:
        return "cannot be told apart", tuple(causes)
    return best.kind, tuple(causes)


def _visible(left: Residuals, tries: Sequence[_Try], limit: float) -> dict[Cause, float]:
    """The smallest slope that would be flagged, where readings are enough to see the limit of the check used up."""
    found: dict[Cause, float] = {}
    slopes = left.slopes(np.hstack([one.column for one in tries])) if tries else []
    for slope, one in zip(slopes, tries, strict=True):
        if slope is not None and one.threshold * slope.u * one.length <= limit:
            flagged = max(one.threshold * slope.u, limit / (one.length + DAYS_AHEAD))
            found[one.cause] = min(flagged, found.get(one.cause, math.inf))
    return found


def _own_slopes(
    rows: Sequence[BottleReading], white: Whitening, y: Floats, known: Floats, taken: set[Cause]
) -> Iterable[OwnSlope]:
    """Each bottle's slope over all of its readings; of one that was found to move, with its movement left in."""
    day = np.array([r.day for r in rows])
    moved = Residuals(y, known)
    still = Residuals(y, white(_baselines(rows)))
    for bottle in sorted({r.bottle for r in rows}):
        mine = [r for r in rows if r.bottle == bottle]
        solution, first = mine[0].solution, mine[0].day
        column = white(np.array([float(r.bottle == bottle) for r in rows]) * (day - first))
        left = still if Cause("bottle", bottle) in taken else moved
        slope = left.slopes(column)[0] if len({r.session for r in mine}) >= FEWEST_CHECKS else None
        siblings = sorted({r.bottle for r in rows if r.solution == solution and r.bottle != bottle})
        yield OwnSlope(
            bottle=bottle,
            solution=solution,
            checks=len({r.session for r in mine}),
            days=mine[-1].day - first,
            siblings=tuple(siblings),
            slope_a_day=None if slope is None else slope.value,
            u_slope=None if slope is None else slope.u,
            first_deviation=mine[0].deviation,
        )


def _need(rows: Sequence[BottleReading], limit: float, rate: float) -> None:
    for name, value in (("limit", limit), ("false_alarms_a_year", rate)):
        if not 0.0 < value < math.inf:
            raise InputError(name, value, "a finite number greater than zero")
    for position, r in enumerate(rows, start=1):
        if not (math.isfinite(r.day) and math.isfinite(r.deviation)):
            raise InputError("deviation", r.deviation, "a finite day and deviation", row=position)
        if not 0.0 < r.u < math.inf:
            raise InputError("u", r.u, "a finite standard uncertainty greater than zero", row=position)
