"""Quantiles of a mixture of normal distributions: safeguarded Newton steps."""

from __future__ import annotations

import math

from isohume.bench.reading.settling.kernels.compiled import inlined
from isohume.bench.reading.settling.kernels.layout import CENTRE, SHARE, SPREAD

_FAR = 6.0
_NEAR = 2e-6  # a hundredth of the last digit that any instrument shows
_STEPS = 60
_SQRT_2, _SQRT_2PI = math.sqrt(2.0), math.sqrt(2.0 * math.pi)


@inlined
def quantile(probability, guess, mixture, n, low, high):
    """Where the mixture's distribution reaches a probability, between low and high."""
    x = guess
    for _ in range(_STEPS):
        over, slope = -probability, 0.0
        for i in range(n):
            z = (x - mixture[CENTRE, i]) / mixture[SPREAD, i]
            if z > _FAR:
                over += mixture[SHARE, i]
            elif z > -_FAR:
                over += 0.5 * mixture[SHARE, i] * math.erfc(-z / _SQRT_2)
                slope += mixture[SHARE, i] * math.exp(-0.5 * z * z) / (mixture[SPREAD, i] * _SQRT_2PI)
        low, high = (low, x) if over > 0.0 else (x, high)
        further = x - over / slope if slope > 1e-9 else low
        if not low < further < high:
            further = 0.5 * (low + high)
        if abs(further - x) < _NEAR:
            return further
        x = further
    return x
