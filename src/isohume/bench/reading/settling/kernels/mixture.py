"""Quantiles of a mixture of normal distributions: safeguarded Newton steps.

    Phi(-z) = phi(z) (b_1 s + ... + b_5 s^5), s = 1/(1 + 0.2316419 z), z >= 0

a well-known fit, good to 7.5e-8 (tests hold it against scipy).
"""

from __future__ import annotations

import math

from isohume.bench.reading.settling.kernels.compiled import inlined
from isohume.bench.reading.settling.kernels.layout import AT, BELOW, DENSITY, LANES, MIXED, PART, WIDE
from isohume.bench.reading.settling.kernels.plain import exponential

_NEAR = 2e-5  # of a step: what it leaves is less than a hundredth of the last digit that any instrument shows
_STEPS = 60
_PER_SQRT_2PI = 1.0 / math.sqrt(2.0 * math.pi)


@inlined
def _below(file, x):
    """Each part's probability of less than x, and its density there."""
    for k in range(LANES):
        per_spread = 1.0 / file[WIDE + k]
        z = (x - file[AT + k]) * per_spread
        density = _PER_SQRT_2PI * exponential(-0.5 * z * z)
        s = 1.0 / (1.0 + 0.2316419 * abs(z))
        tail = s * (0.319381530 + s * (-0.356563782 + s * (1.781477937 + s * (-1.821255978 + s * 1.330274429))))
        tail *= density
        file[BELOW + k] = file[PART + k] * (tail if z < 0.0 else 1.0 - tail)
        file[DENSITY + k] = file[PART + k] * density * per_spread


@inlined
def quantile(probability, guess, mixture, n, low, high):
    """Where the distribution of n files of parts reaches a probability, between low and high."""
    x = min(max(guess, low), high)
    for _ in range(_STEPS):
        over, slope = -probability, 0.0
        for i in range(n):
            file = mixture[i * MIXED : (i + 1) * MIXED]
            _below(file, x)
            for k in range(LANES):
                over += file[BELOW + k]
                slope += file[DENSITY + k]
        low, high = (low, x) if over > 0.0 else (x, high)
        further = x - over / slope if slope > 1e-9 else low
        if not low < further < high:
            further = 0.5 * (low + high)
        if abs(further - x) < _NEAR:
            return further
        x = further
    return x
