"""The warm-sample guard: may this portion be read at its temperature in this block?

Before a reading exists the expected a_w comes from the product's specification or history. Two things can go
wrong: water condenses on the block, which no instrument survives; short of that, a surface warmer than the block
reads too high unless the instrument measures the surface temperature itself.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from isohume.foundation.quantity.errors import InputError, RangeError
from isohume.foundation.water import mismatch_error, sensitivity_per_k, tolerable_excess_k

MISMATCH_LIMIT_K = 0.5
"""Default limit of the method without a surface thermometer (common practice, no source)."""
MISMATCH_LIMIT_WITH_SURFACE_K = 2.0
"""Default limit of the method where the instrument measures the surface temperature (common practice, no source)."""
UNSEEN_SHARE_WITH_SURFACE = 0.1
"""Share of the mismatch that a surface thermometer does not see (common practice, no source)."""
KELVIN = 273.15

OVERRIDE_CEILING_K = 5.0
"""No reason makes a reading of a mismatch beyond it (common practice, no source)."""

GuardAnswer = Literal["go", "go with override", "wait", "would condense"]


@dataclass(frozen=True, slots=True)
class WarmSample:
    """The guard's answer, the limit it computed, and what the mismatch adds to the budget."""

    answer: GuardAnswer
    excess_k: float
    condenses_above_k: float
    limit_k: float
    error_if_ignored: float
    u_mismatch: float
    reasons: tuple[str, ...]

    @property
    def may_read(self) -> bool:
        """Whether the portion may be read as it is."""
        return self.answer in ("go", "go with override")


def judge_warm_sample(
    sample_temperature_c: float,
    block_temperature_c: float,
    expected_a_w: float,
    measures_surface_temperature: bool,
    limit_k: float | None = None,
    override_reason: str = "",
) -> WarmSample:
    """Whether a portion may be read at its temperature, and what the mismatch costs.

        condenses where a_w p_sat(T_sample) > p_sat(T_block);  error = a_w (p_sat(T_sample)/p_sat(T_block) - 1)
        u = share * |error| / sqrt(3), share 0.1 with a surface thermometer, 1 without
    sample_temperature_c: temperature of the portion [degC], 0 to 60.
    block_temperature_c: temperature of the block [degC], 0 to 60.
    expected_a_w: expected from specification or history [1], above 0 to 1.
    measures_surface_temperature: whether the instrument measures the sample's surface temperature [text].
    limit_k: the method's limit for the mismatch [K]; None takes 2 K with, 0.5 K without a surface thermometer.
    override_reason: why a mismatch beyond the limit is read all the same [text]; never overrides condensation.
    Returns: the WarmSample [text].
    Raises: InputError for an expected a_w outside 0 to 1 or a negative limit.
    Example: 27 in a 25 degC block, 0.93 -> "would condense", limit 1.2 K; 0.40 -> error +0.05.
    Source: none for the limits (common practice); saturation pressure WagnerPruss1993.
    """
    if not 0 < expected_a_w <= 1:
        raise InputError("expected_a_w", expected_a_w, "a fraction greater than 0 and at most 1")
    limit = mismatch_limit(limit_k, measures_surface_temperature)
    sample_k, block_k = sample_temperature_c + KELVIN, block_temperature_c + KELVIN
    excess = sample_temperature_c - block_temperature_c
    condenses_above = _condenses_above(expected_a_w, block_k)
    error = float(mismatch_error(expected_a_w, sample_k, block_k))
    share = UNSEEN_SHARE_WITH_SURFACE if measures_surface_temperature else 1.0
    answer, reasons = _answer(excess, condenses_above, limit, error, measures_surface_temperature, override_reason)
    return WarmSample(answer, excess, condenses_above, limit, error, share * abs(error) / math.sqrt(3), reasons)


def mismatch_sensitivity(a_w: float, block_temperature_c: float) -> float:
    """How much a reading changes with the temperature of the surface, per kelvin.

    a_w: water activity [1], above 0 to 1.
    block_temperature_c: temperature of the block [degC].
    Returns: the sensitivity [1/K].
    Source: WagnerPruss1993.
    """
    return float(sensitivity_per_k(a_w, block_temperature_c + KELVIN))


def _condenses_above(expected_a_w: float, block_k: float) -> float:
    try:
        return float(tolerable_excess_k(expected_a_w, block_k))
    except RangeError as error:
        if error.field != "a_w":
            raise
        return math.inf  # so dry that nothing condenses at any bench temperature


def mismatch_limit(limit_k: float | None, measures_surface: bool) -> float:
    """The method's limit for the mismatch, else the usual one of the instrument's kind.

    limit_k: the method's [K]. measures_surface: whether the instrument measures the sample's surface temperature.
    """
    if limit_k is None:
        return MISMATCH_LIMIT_WITH_SURFACE_K if measures_surface else MISMATCH_LIMIT_K
    if not (limit_k >= 0 and math.isfinite(limit_k)):
        raise InputError("mismatch_limit_k", limit_k, "kelvin, zero or more")
    return limit_k


def _answer(
    excess: float, condenses_above: float, limit: float, error: float, measures_surface: bool, override: str
) -> tuple[GuardAnswer, tuple[str, ...]]:
    if excess > condenses_above:
        return "would condense", (
            f"The sample is {excess:.1f} K warmer than the block and water would condense on the block above "
            f"{condenses_above:.1f} K: temper the closed cup and repeat.",
        )
    # The difference of two typed temperatures carries binary dust; a nanokelvin is no mismatch.
    if abs(excess) <= limit + 1e-9:
        return "go", _seen(excess, error, measures_surface)
    warmer = "warmer" if excess > 0 else "colder"
    high = "high" if error > 0 else "low"
    why = (
        f"The sample is {abs(excess):.1f} K {warmer} than the block, beyond the method's {limit:.1f} K: "
        f"it would read about {abs(error):.2f} {high} where the surface temperature is not measured"
    )
    if override.strip() and abs(excess) <= OVERRIDE_CEILING_K:
        return "go with override", (f"{why}; read all the same: {override.strip()}.",)
    return "wait", (f"{why}. Wait until it is within the limit, or give a reason.",)


def _seen(excess: float, error: float, measures_surface: bool) -> tuple[str, ...]:
    if abs(excess) < 0.05:
        return ()
    how = "its surface temperature is measured" if measures_surface else "it is within the method's limit"
    return (f"Sample {excess:+.1f} K from the block ({error:+.4f} if ignored); {how}, the rest is in the budget.",)
