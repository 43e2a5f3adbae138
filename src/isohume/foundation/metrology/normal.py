"""The standard normal distribution: distribution function and quantile, from the error function alone.

No table of fitted coefficients: the quantile is Newton's method on ln Q(z), which is concave, so that from an
upper bound it walks down to the root without ever overshooting.
"""

from __future__ import annotations

import math
from typing import Any

from isohume.foundation.quantity.errors import InputError, RangeError

_SQRT2 = math.sqrt(2.0)
_SQRT_2PI = math.sqrt(2.0 * math.pi)
_SETTLED = 1e-9  # Newton squares the error: after a step this small a float has no digits left to gain
_SMALLEST_TAIL = 1e-300  # below it the tail underflows on the way to the root


def normal_cdf(z: Any) -> Any:
    """The probability that a standard normal variable is at most z.

        Phi(z) = erfc(-z/sqrt(2))/2
    z: standardised distance [1], float or array; any number, infinities included.
    Returns: probability [1], same shape; accurate in the far tail too.
    Raises: InputError for a NaN.
    Example: f(1.4) = 0.91924 (JCGM 106 example of a breakdown voltage, printed 0.92).
    Source: JCGM106, 7.2.
    """
    if isinstance(z, (int, float)):
        if math.isnan(z):
            raise InputError("z", z, "a number")
        return 0.5 * math.erfc(-z / _SQRT2)
    import numpy as np
    from scipy.special import ndtr

    numbers = np.asarray(z, dtype=float)
    if np.isnan(numbers).any():
        raise InputError("z", "NaN in the array", "numbers")
    return ndtr(numbers)


def normal_quantile(probability: float) -> float:
    """The z below which a standard normal variable falls with the given probability.

        Phi(z) = probability, by Newton's method on the logarithm of the smaller tail
    probability: probability [1], between 1e-300 and 1, both excluded.
    Returns: standardised distance [1].
    Raises: RangeError for a probability at or beyond 0 or 1.
    Beyond: 0 and 1 have no finite quantile.
    Example: f(0.95) = 1.6448536, f(0.975) = 1.9599640 (any normal table).
    Source: JCGM106, 7.2.
    """
    if not _SMALLEST_TAIL <= probability < 1.0:
        raise RangeError("probability", probability, _SMALLEST_TAIL, 1.0, why="both ends excluded")
    upper = probability > 0.5
    tail = 1.0 - probability if upper else probability
    target = math.log(tail)
    z = math.sqrt(max(0.0, -2.0 * (target + math.log(2.0))))  # Q(z) <= exp(-z^2/2)/2 bounds the root above
    for _ in range(60):
        q = 0.5 * math.erfc(z / _SQRT2)
        step = (math.log(q) - target) * q * _SQRT_2PI * math.exp(0.5 * z * z)
        z += step
        if abs(step) <= _SETTLED * (1.0 + z):
            break
    return z if upper else -z
