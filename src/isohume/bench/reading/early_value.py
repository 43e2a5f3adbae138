"""How uncertain the last reading of a run is that has not come to rest."""

from __future__ import annotations

import math

from isohume.foundation.quantity.errors import InputError


def u_of_early_value(value: float, forecast: float, u_forecast: float) -> float:
    """The standard uncertainty of a reading taken before the method's criterion was met.

        u^2 = u_forecast^2 + (forecast - value)^2
    value: the reading [1].
    forecast: the value that the run is forecast to end at [1].
    u_forecast: the forecast's standard uncertainty [1], above zero.
    Returns: standard uncertainty [1]: the way still to go is an error that nobody corrected, so it counts in full.
    Raises: InputError where u_forecast is not above zero or a number is not finite.
    Example: 0.6420 read, 0.6450 forecast with u 0.0040: 0.0050.
    Source: JCGM100, F.2.4.5.
    """
    for name, number in (("value", value), ("forecast", forecast)):
        if not math.isfinite(number):
            raise InputError(name, number, "a finite a_w")
    if not 0.0 < u_forecast < math.inf:
        raise InputError("u_forecast", u_forecast, "a finite standard uncertainty greater than zero")
    return math.hypot(u_forecast, forecast - value)
