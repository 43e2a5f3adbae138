"""Can a reading be believed? The rules in order: what spoils a reading before what only delays it."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from decimal import Decimal

from isohume.bench.reading.diagnosis.condensation import condensation
from isohume.bench.reading.diagnosis.exchange import leak, volatile
from isohume.bench.reading.diagnosis.finding import Finding
from isohume.bench.reading.diagnosis.rest import (
    moved_on,
    not_sure,
    settled,
    slow,
    still_moving,
    stopped_early,
    too_coarse,
)
from isohume.bench.reading.diagnosis.signs import REPEATABILITY, Signs, noise_of, scatter_about_smooth
from isohume.bench.reading.diagnosis.temperature import cold_sample, warm_sample
from isohume.bench.reading.diagnosis.unfamiliar import ends_beyond, reads_nothing, unfamiliar
from isohume.bench.reading.settling.criterion import DEFAULT_CRITERION, Criterion, settled_at
from isohume.bench.reading.settling.forecast import Forecast, Forecaster
from isohume.bench.reading.settling.trace import Trace, last_digit_of
from isohume.bench.reading.warm_sample import MISMATCH_LIMIT_K

RULES: tuple[Callable[[Signs], Finding | None], ...] = (
    condensation,
    warm_sample,
    cold_sample,
    leak,
    reads_nothing,
    unfamiliar,
    volatile,
    ends_beyond,
    too_coarse,
    settled,
    not_sure,
    moved_on,
    slow,
    stopped_early,
)


@dataclass(frozen=True, slots=True)
class TraceJudged:
    """Whether a trace has settled, at which value, where it will end, and what went wrong."""

    n: int
    settled: bool
    settled_at_s: float | None
    value: float | None
    u: float | None
    forecast: Forecast | None
    settles_after_s: float | None
    finding: Finding
    no_forecast: str = ""  # why there is none, in words


def judge_trace(
    trace: Trace,
    criterion: Criterion = DEFAULT_CRITERION,
    resolution: float | None = None,
    repeatability: float = REPEATABILITY,
    ended: bool = True,
    mismatch_limit_k: float = MISMATCH_LIMIT_K,
) -> TraceJudged:
    """Whether a trace has settled, where it will end, and what went wrong.

        settled: the method's criterion met, the reading stayed, half of the forecast's interval <= 0.01;
        value: the reading then;
        u^2 = u(forecast)^2 + (forecast - value)^2 + (change/sqrt(12))^2
    trace: the readings [1].
    criterion: what the method asks [1, s].
    resolution: the last digit of the readings [1], where it is coarser than their finest one; without it no less than
        0.0001.
    repeatability: standard deviation of readings of one portion within a run [1].
    ended: whether the run is over [1]; a run that goes on is not stopped early.
    mismatch_limit_k: how far a sample may be from the block's temperature when it is read [K]; the method's, else as
        `judge_warm_sample` has it.
    Returns: the TraceJudged [1].
    Raises: InputError for a resolution or repeatability out of range.
    Beyond: fewer than six readings have no forecast, nor has a curve that would end beyond 0 to 1; a trace of more than
        four hours settles never, nor does one whose last digit is coarser than the criterion.
    Source: none (causes and their shapes: common practice; the temperature's part: WagnerPruss1993).
    """
    last_digit = last_digit_of(trace, resolution)
    forecaster = Forecaster(float(last_digit), repeatability)
    forecaster.take(trace.elapsed_s, trace.a_w)
    found = settled_at(trace, criterion, last_digit)
    return judge_so_far(trace, forecaster, found, criterion, ended, mismatch_limit_k)


def judge_so_far(
    trace: Trace,
    forecaster: Forecaster,
    found: int | None,
    criterion: Criterion,
    ended: bool,
    mismatch_limit_k: float = MISMATCH_LIMIT_K,
) -> TraceJudged:
    """The same of a run whose forecaster has taken its readings one by one, and whose criterion was judged on the way.

    trace: the readings [1]. forecaster: has taken all of them. found: the position of the first reading that met the
    criterion [1]. criterion: what the method asks [1, s]. ended: whether the run is over [1]. mismatch_limit_k: how far
    a sample may be from the block's temperature when it is read [K].
    """
    noise = max(noise_of(trace.a_w), 0.3 * forecaster.resolution)
    signs = Signs(
        trace=trace,
        criterion=criterion,
        settled_at=found,
        forecast=forecaster.forecast,
        settles_after_s=forecaster.settles_after(float(criterion.change), float(criterion.window_s)),
        ended=ended,
        last_digit=max(trace.last_digit, Decimal(repr(float(forecaster.resolution)))),
        no_forecast=forecaster.why_none,
        mismatch_limit_k=mismatch_limit_k,
        noise=noise,
        left=min(forecaster.noise, scatter_about_smooth(trace)),
        repeatability=forecaster.repeatability,
    )
    finding = next(filter(None, (rule(signs) for rule in RULES)), None) or still_moving(signs)
    believed = finding.diagnosis == "settled" and found is not None
    at = float(trace.elapsed_s[found]) if found is not None and believed else None
    value = float(trace.a_w[found]) if found is not None and believed else None
    u = _u_of_settled(value, forecaster.forecast, criterion) if value is not None else None
    after, why_none = signs.settles_after_s, signs.no_forecast
    return TraceJudged(trace.n, believed, at, value, u, forecaster.forecast, after, finding, why_none)


def _u_of_settled(value: float, forecast: Forecast | None, criterion: Criterion) -> float:
    """What a settled reading may still be off: the way to its forecast, the forecast's own, and the change, evenly."""
    assert forecast is not None, "nothing is settled without a forecast"
    return math.sqrt(forecast.u**2 + (forecast.value - value) ** 2 + float(criterion.change) ** 2 / 12.0)
