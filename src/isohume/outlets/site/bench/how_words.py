"""How the warm-sample guard came to its answer for one reading."""

from __future__ import annotations

from isohume.bench.reading.warm_sample import WarmSample
from isohume.foundation.quantity.how import How
from isohume.outlets.site.bench.guard import Guarded
from isohume.outlets.site.bench.limits import expected_a_w


def warm_how(guarded: Guarded, warm: WarmSample, a_w: str) -> How:
    """Formula, inputs, range and source of the guard's answer."""
    return How(
        "warm-sample guard",
        "condenses where a_w p_sat(T_sample) > p_sat(T_block)\n"
        "error if ignored = a_w (p_sat(T_sample) / p_sat(T_block) - 1)",
        "WagnerPruss1993",
        "samples and blocks of 0 to 60 degC; the limits of the mismatch are the method's or common practice, no source",
        "the sample's temperature",
        {
            "sample_temperature_c": guarded.sample_temperature_c,
            "block_temperature_c": guarded.block_temperature_c or f"{guarded.method.temperature_c} (the method's)",
            "a_w_read": a_w,
            "a_w_expected": expected_a_w(guarded.specification),
            "condenses_above_k": warm.condenses_above_k,
            "limit_k": warm.limit_k,
            "error_if_ignored": warm.error_if_ignored,
            "u_of_the_mismatch": warm.u_mismatch,
        },
    )
