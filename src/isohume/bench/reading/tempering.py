"""Tempering: when will a closed cup that came in warm or cold be close enough to the block to be read?

A forecast only: before the reading the portion's temperature is measured again and the guard judges that.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from isohume.bench.reading.warm_sample import judge_warm_sample
from isohume.foundation.quantity.errors import InputError
from isohume.foundation.quantity.how import How
from isohume.foundation.quantity.ranges import ValidRange

TIME_CONSTANT_MIN = 20.0
"""Time constant of a closed cup at rest (common practice, no source); two readings of the cup replace it."""
TEMPERATURE_C = ValidRange(-50, 150, "degC")
LONGEST_FORECAST_MIN = 48 * 60.0
"""Nobody waits longer for a cup; a forecast beyond it says that the cup does not temper."""
_DUST = 1e-9

Sample = tuple[datetime, float]


@dataclass(frozen=True, slots=True)
class Tempering:
    """When a portion is forecast to be within the limit, how long that is, and how it was found.

    `ready` is true only where the last reading itself lies within the limit.
    """

    ready_at: datetime | None
    minutes_left: float | None
    words: str
    how: How
    ready: bool = False


def tempering_limit_k(
    expected_a_w: float,
    block_temperature_c: float,
    measures_surface_temperature: bool,
    method_limit_k: float | None = None,
    colder: bool = False,
) -> float:
    """How far from the block a portion may still be when it is read.

        limit = min(excess above which water condenses on the block, the method's limit); colder: the method's alone
    expected_a_w: expected from specification or history [1], above 0 to 1.
    block_temperature_c: temperature of the block [degC], 0 to 60.
    measures_surface_temperature: whether the instrument measures the sample's surface temperature [text].
    method_limit_k: the method's limit for the mismatch [K]; None takes the guard's default.
    colder: whether the portion is colder than the block [text]; then nothing condenses on the block.
    Returns: the limit [K]; 0 for a warm sample of pure water, which no waiting makes ready.
    Raises: InputError for an expected a_w outside 0 to 1 or a negative limit.
    Example: 0.95 at 25 degC with a surface thermometer -> 0.9 K; 0.50 -> 2 K, the method's.
    Source: none for the method's limit (common practice); condensation WagnerPruss1993.
    """
    guard = judge_warm_sample(
        block_temperature_c, block_temperature_c, expected_a_w, measures_surface_temperature, method_limit_k
    )
    return guard.limit_k if colder else min(guard.condenses_above_k, guard.limit_k)


def ready_at(
    samples: Sequence[Sample],
    block_temperature_c: float,
    limit_k: float,
    time_constant_min: float | None = None,
    now: datetime | None = None,
) -> Tempering:
    """When a tempering portion is forecast to be within the limit of the block.

        T - T_block = d0 exp(-t / tau);  t_ready = t_last + tau ln(|d_last| / limit)
        tau = stated, or from two or more readings by least squares on ln|d| with weights d^2
    samples: (time, temperature of the portion) [degC], at least one; in any order.
    block_temperature_c: temperature of the block, and of the place the closed cup waits in [degC].
    limit_k: how far from the block the portion may be [K], zero or more, from `tempering_limit_k`.
    time_constant_min: tau of the cup [min]; None takes it from the readings, or 20 min where there is only one.
    now: the moment of asking [time]; None counts from the last reading.
    Returns: the Tempering [min]; ready_at None where the portion does not approach the block.
    Raises: InputError for no reading, or a limit or time constant that makes no sense; RangeError.
    Beyond: a forecast of more than 48 h is not made.
    Example: 29 degC in a 25 degC block, limit 0.5 K, tau 20 min -> ready after 41.6 min.
    Source: none (Newton's law of cooling; 20 min for a closed cup is common practice).
    """
    readings = _checked(samples, block_temperature_c, limit_k, time_constant_min)
    (last_at, last_d), now = readings[-1], now or readings[-1][0]
    tau, whose = _time_constant(readings, time_constant_min)
    how = _how(readings, block_temperature_c, limit_k, tau, whose)
    # The difference of two typed temperatures carries binary dust; a nanokelvin keeps nobody waiting.
    if abs(last_d) <= limit_k + _DUST:
        return Tempering(last_at, 0.0, f"ready: {_off(last_d)}, within {limit_k:.2g} K", how, ready=True)
    if tau is None:
        return Tempering(None, None, f"not tempering: {_off(last_d)} and not coming closer", how)
    if limit_k == 0 or (wait := tau * math.log(abs(last_d) / limit_k)) > LONGEST_FORECAST_MIN:
        return Tempering(None, None, f"no forecast: {_off(last_d)}, and no waiting of 48 h would do", how)
    ready = last_at + timedelta(minutes=wait)
    left = max((ready - now).total_seconds() / 60, 0.0)
    words = f"ready in about {math.ceil(left)} min" if left > 0 else "should be ready"
    return Tempering(ready, left, f"{words} (last {_off(last_d)}); measure it again before reading", how)


def _checked(
    samples: Sequence[Sample], block: float, limit: float, time_constant: float | None
) -> list[tuple[datetime, float]]:
    """The readings in time order as differences from the block."""
    if not samples:
        raise InputError("samples", "none", "at least one temperature of the portion with its time")
    TEMPERATURE_C.check("block_temperature_c", block)
    if not (limit >= 0 and math.isfinite(limit)):
        raise InputError("limit_k", limit, "kelvin, zero or more")
    if time_constant is not None and not (time_constant > 0 and math.isfinite(time_constant)):
        raise InputError("time_constant_min", time_constant, "minutes, greater than zero")
    for _, temperature in samples:
        TEMPERATURE_C.check("temperature_c", temperature)
    return [(at, temperature - block) for at, temperature in sorted(samples)]


def _time_constant(readings: list[tuple[datetime, float]], stated: float | None) -> tuple[float | None, str]:
    """The time constant in minutes and whose it is; None where the readings do not approach the block."""
    if stated is not None:
        return stated, "as stated"
    side = math.copysign(1.0, readings[-1][1])
    usable = [(at, abs(d)) for at, d in readings if d * side > 0]
    if len({at for at, _ in usable}) < 2:
        return TIME_CONSTANT_MIN, "a closed cup's (common practice, no source)"
    return _fitted(usable), f"fitted to {len(usable)} readings of this portion"


def _fitted(usable: list[tuple[datetime, float]]) -> float | None:
    """Least squares on ln|d|: an error of a thermometer weighs as 1/d in the logarithm, hence weights d^2."""
    start = usable[0][0]
    points = [((at - start).total_seconds() / 60, math.log(d), d * d) for at, d in usable]
    total = math.fsum(w for _, _, w in points)
    t_mean = math.fsum(w * t for t, _, w in points) / total
    y_mean = math.fsum(w * y for _, y, w in points) / total
    slope = math.fsum(w * (t - t_mean) * (y - y_mean) for t, y, w in points)
    slope /= math.fsum(w * (t - t_mean) ** 2 for t, _, w in points)
    return -1 / slope if slope < 0 else None


def _off(d: float) -> str:
    return f"{abs(d):.1f} K {'warmer' if d > 0 else 'colder'} than the block"


def _how(readings: list[tuple[datetime, float]], block: float, limit: float, tau: float | None, whose: str) -> How:
    return How(
        "time until a portion may be read",
        "T - T_block = d0 exp(-t / tau); t_ready = t_last + tau ln(|d_last| / limit)",
        "none (Newton's law of cooling)",
        "a closed cup at rest where it is as warm as the block; no forecast beyond 48 h",
        "the time constant",
        {
            "time_constant_min": tau,
            "time_constant": whose,
            "limit_k": limit,
            "block_temperature_c": block,
            "differences_k": [round(d, 3) for _, d in readings],
        },
    )
