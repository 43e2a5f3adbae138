"""The range of several values of one normal distribution: how wide it is by chance alone."""

from __future__ import annotations

from functools import cache

from isohume.foundation.metrology.normal import normal_cdf
from isohume.foundation.quantity.errors import InputError

_STEPS = 800
_REACH = 9.0  # beyond it a float holds nothing of the distribution


@cache
def range_quantile(n: int, probability: float = 0.95) -> float:
    """The range, in standard deviations, that n values of one normal distribution stay within.

        P(range <= w) = n integral phi(x) (Phi(x + w) - Phi(x))^(n - 1) dx, solved for w
    n: number of values [1], 2 to 500.
    probability: how surely [1], above 0, below 1.
    Returns: range over standard deviation [1]; at 0.95 the f(n) of the critical range.
    Raises: InputError for n or a probability out of range.
    Example: n 4 -> 3.633 (printed as 3.6), n 20 -> 5.01.
    Source: ISO5725-6, 5.2 (printed to one decimal up to n = 10).
    """
    if not 2 <= n <= 500:
        raise InputError("n", n, "2 to 500 values")
    if not 0.0 < probability < 1.0:
        raise InputError("probability", probability, "above 0 and below 1")
    low, high = 0.0, 4.0
    while _within(n, high) < probability:
        low, high = high, 2.0 * high
    while high - low > 1e-10:
        middle = 0.5 * (low + high)
        if _within(n, middle) < probability:
            low = middle
        else:
            high = middle
    return 0.5 * (low + high)


def _within(n: int, width: float) -> float:
    """The probability of a range up to `width`; the trapezoid rule is exact to rounding for such smooth integrands."""
    import numpy as np

    x = np.linspace(-_REACH - width, _REACH, _STEPS + 1)
    density = np.exp(-0.5 * x * x) / np.sqrt(2.0 * np.pi)
    inside = np.asarray(normal_cdf(x + width)) - np.asarray(normal_cdf(x))
    return float(n * np.trapezoid(density * inside ** (n - 1), x))
