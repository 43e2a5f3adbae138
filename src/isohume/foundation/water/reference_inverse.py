"""The reference form turned round: the temperature at which water vapour of a given pressure is saturated.

Newton steps on ln p, started from the closed inverse of the fast form. The start is off by less than 0.01 K;
the error of a step is about 0.004 /K times its square, so two steps leave only the last bits.
"""

from __future__ import annotations

from typing import Any

from isohume.foundation.quantity.ranges import ValidRange
from isohume.foundation.water import iapws_if97
from isohume.foundation.water.wagner_pruss import CRITICAL_PA, log_and_slope

# the inverse stops short of the critical point, where pressure no longer tells temperature well
INVERTIBLE = ValidRange(273.15, 623.15, "K", "liquid water, 0 to 350 degC")


def temperature(m: Any, p: Any) -> Any:
    """T [K] at p [Pa]; `m` is `math` or numpy; p between the saturation pressures of `INVERTIBLE`."""
    target = m.log(p / CRITICAL_PA)
    t = iapws_if97.temperature(m, p)
    for _ in range(2):
        log_p, log_rise = log_and_slope(m, t)
        t = t - (log_p - target) / log_rise
    return t
