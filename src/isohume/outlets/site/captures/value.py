"""Which number of a captured run would be its reading, how it stopped, and what stands against taking it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

from isohume.bench.reading.diagnosis import TraceJudged
from isohume.bench.reading.early_value import u_of_early_value
from isohume.bench.reading.runs import ESTIMATE, SETTLED
from isohume.bench.reading.settling import Sample
from isohume.outlets.site.captures.judged import Judged
from isohume.outlets.site.captures.models import CapturedRun

NEVER = ("condensation", "leak", "volatile")
"""What these readings show is not the sample's water activity: they are voided with their cause and read again."""
DOUBTFUL = ("warm sample", "cold sample", "unfamiliar")
"""Taken only for a manager's reason, and then as an estimate."""
SMALLEST_U, LARGEST_U = 0.00001, 0.5


@dataclass(frozen=True, slots=True)
class Value:
    """The number with the digits as read, how the run stopped, an estimate's u, its temperatures and its moment."""

    a_w: str
    stopped: str
    u_estimate: str
    sample_temperature_c: str
    block_temperature_c: str
    read_at: datetime


def value_of(run: CapturedRun, judged: Judged) -> Value | None:
    """The reading that the method's criterion names, else the last one as an estimate; None where none can be taken."""
    found, position = judged.found, judged.settled_position
    if found is None or (position is None and found.forecast is None):
        return None
    settled = position is not None
    place = len(judged.usable) - 1 if position is None else position
    taken = judged.usable[place]
    return Value(
        a_w=f"{taken.a_w:f}",
        stopped=SETTLED if settled else ESTIMATE,
        u_estimate="" if settled else f"{_u_of_estimate(float(taken.a_w), found):.5f}",
        sample_temperature_c=_last(judged.usable[: place + 1], "sample_temperature_c"),
        block_temperature_c=_last(judged.usable[: place + 1], "block_temperature_c"),
        read_at=_moment(run, judged.usable[0], taken),
    )


def reasons_against(judged: Judged, *, manager_s_reason: bool = False) -> list[str]:
    """Why no reading is taken of a trace."""
    found = judged.found
    if found is None:
        return ["The run gave no reading: void it with its cause."]
    said = found.finding
    if said.diagnosis in NEVER:
        return [f"The trace says {said.diagnosis}: void the run with its cause.", *said.evidence, said.action]
    if said.diagnosis in DOUBTFUL and not manager_s_reason:
        return [
            f"The trace says {said.diagnosis}: void the run with its cause, or a manager takes it for a reason, as a "
            "non-equilibrium estimate.",
            *said.evidence,
            said.action,
        ]
    if judged.settled_position is None and found.forecast is None:
        why = found.no_forecast.removeprefix("none: ")
        return [f"It did not settle, and has no forecast ({why}): it may be off by any amount."]
    if judged.settled_position is None and _u_of_estimate(float(judged.usable[-1].a_w), found) > LARGEST_U:
        return ["It did not settle, and its forecast is too wide to say anything."]
    return []


def _u_of_estimate(value: float, found: TraceJudged) -> float:
    """An estimate is off by the way that its forecast has still to go, and by the forecast's own u."""
    assert found.forecast is not None, "an estimate has a forecast"
    return max(SMALLEST_U, u_of_early_value(value, found.forecast.value, found.forecast.u))


def _last(samples: tuple[Sample, ...], field: str) -> str:
    """The last number that was given until then; the sample is read at the temperature it has at that moment."""
    found = next((number for one in reversed(samples) if (number := getattr(one, field)) is not None), None)
    return "" if found is None else f"{found:f}"


def _moment(run: CapturedRun, first: Sample, taken: Sample) -> datetime:
    """When that reading was taken, by the run's own seconds; never after the run's end."""
    at = run.started_at + timedelta(seconds=float(taken.elapsed_s - first.elapsed_s))
    return min(at, run.ended_at) if run.ended_at else at
