"""What a sample warmer or colder than the block does: the physics of the warm-sample guard.

The vapour over the sample has the pressure a_w p(T_sample). The block, with the mirror or the sensor in it,
is at T_block: where the vapour's pressure exceeds p(T_block), water condenses on it. Short of that, an
instrument that takes the sample to be at the block's temperature reads the vapour's pressure against the
wrong p.

The expected a_w comes from the product's specification or history: the guard speaks before there is a
reading.
"""

from __future__ import annotations

import math
from typing import Any

from isohume.foundation.water import reference_inverse
from isohume.foundation.water.limits import A_W, refuse_where
from isohume.foundation.water.reference_inverse import INVERTIBLE
from isohume.foundation.water.shapes import Numbers, between, evaluated, is_scalar
from isohume.foundation.water.wagner_pruss import log_reduced, log_slope, pressure

_HIGHEST_PA = pressure(math, INVERTIBLE.high)


def tolerable_excess_k(a_w: Numbers | float, block_temperature_k: Numbers | float) -> Numbers:
    """Largest excess of a sample over the block before water condenses on the block.

        a_w p(T_block + d) = p(T_block), solved for d
    a_w: expected water activity [1], float or array, 0.0002 (at 25 degC) to 1.
    block_temperature_k: temperature of the block [K], float or array, 273.15 to 623.15.
    Returns: excess [K], same shape; 0 for pure water, more the drier the sample.
    Raises: RangeError beyond the range; nothing is clamped.
    Beyond: a sample so dry that it would have to be above 350 degC: nothing condenses on the block.
    Example: tolerable_excess_k(0.93, 298.15) = 1.22 K.
    Source: WagnerPruss1993, eq. 1.
    """
    A_W.check("a_w", a_w)
    INVERTIBLE.check("block_temperature_k", block_temperature_k)
    block_pa = evaluated(pressure, block_temperature_k)
    lowest = block_pa / _HIGHEST_PA
    why = "so dry that nothing condenses at any bench temperature"
    refuse_where(a_w < lowest, "a_w", a_w, lowest, 1.0, why=why)
    hottest = evaluated(reference_inverse.temperature, block_pa / a_w)
    result: Numbers = between(hottest - block_temperature_k, 0.0, INVERTIBLE.high)
    return result


def _over_reading(m: Any, a_w: Any, sample_k: Any, block_k: Any) -> Any:
    """a_w p(T_sample)/p(T_block): what the block's own temperature makes of the vapour."""
    return a_w * m.exp(log_reduced(m, sample_k) - log_reduced(m, block_k))


def _check(a_w: Any, sample_temperature_k: Any, block_temperature_k: Any) -> None:
    A_W.check("a_w", a_w)
    INVERTIBLE.check("sample_temperature_k", sample_temperature_k)
    INVERTIBLE.check("block_temperature_k", block_temperature_k)


def would_condense(a_w: Any, sample_temperature_k: Any, block_temperature_k: Any) -> Any:
    """Whether water from a sample condenses on the block.

        a_w p(T_sample) > p(T_block)
    a_w: expected water activity [1], float or array, 0 to 1.
    sample_temperature_k: temperature of the sample's surface [K], float or array, 273.15 to 623.15.
    block_temperature_k: temperature of the block [K], float or array, 273.15 to 623.15.
    Returns: yes or no [truth], same shape.
    Raises: RangeError beyond the range; nothing is clamped.
    Beyond: a frozen sample is outside the scope of the measurement.
    Example: would_condense(0.93, 300.15, 298.15) is true; would_condense(0.40, 300.15, 298.15) is false.
    Source: WagnerPruss1993, eq. 1.
    """
    _check(a_w, sample_temperature_k, block_temperature_k)
    over = evaluated(_over_reading, a_w, sample_temperature_k, block_temperature_k)
    return bool(over > 1.0) if is_scalar(over) else over > 1.0


def mismatch_error(
    a_w: Numbers | float, sample_temperature_k: Numbers | float, block_temperature_k: Numbers | float
) -> Numbers:
    """What an instrument reads too high when it takes a sample to be at the block's temperature.

        error = a_w (p(T_sample)/p(T_block) - 1)
    a_w: water activity of the sample [1], float or array, 0 to 1.
    sample_temperature_k: temperature of the sample's surface [K], float or array, 273.15 to 623.15.
    block_temperature_k: temperature of the block [K], float or array, 273.15 to 623.15.
    Returns: error [1], same shape; above 0 for a sample warmer than the block, below 0 for a colder one.
    Raises: RangeError beyond the range; nothing is clamped.
    Beyond: where water condenses (`would_condense`) the figure is no error of a reading: there is no reading.
    Example: mismatch_error(0.40, 300.15, 298.15) = +0.050.
    Source: WagnerPruss1993, eq. 1.
    """
    _check(a_w, sample_temperature_k, block_temperature_k)
    result: Numbers = evaluated(_over_reading, a_w, sample_temperature_k, block_temperature_k) - a_w
    return result


def sensitivity_per_k(a_w: Numbers | float, temperature_k: Numbers | float) -> Numbers:
    """What one kelvin of sample above block adds to the reading, for small differences.

        a_w (dp/dT)/p, about 0.06 a_w at room temperature
    a_w: water activity of the sample [1], float or array, 0 to 1.
    temperature_k: temperature of sample and block [K], float or array, 273.15 to 623.15.
    Returns: change of the reading [1/K], same shape.
    Raises: RangeError beyond the range; nothing is clamped.
    Beyond: for more than a few tenths of a kelvin ask `mismatch_error`, which is not linear.
    Example: sensitivity_per_k(0.85, 298.15) = 0.0507 per K.
    Source: WagnerPruss1993, eq. 1 differentiated.
    """
    A_W.check("a_w", a_w)
    INVERTIBLE.check("temperature_k", temperature_k)
    result: Numbers = a_w * evaluated(log_slope, temperature_k)
    return result
