"""The noise of a trace and its autocorrelation, from what the best node leaves of the later half of the samples."""

from __future__ import annotations

import math

from isohume.bench.reading.settling.kernels.blocks import off_by
from isohume.bench.reading.settling.kernels.compiled import inlined
from isohume.bench.reading.settling.kernels.decays import functions
from isohume.bench.reading.settling.kernels.layout import (
    CORRELATION,
    END,
    FIRST,
    ORIGIN,
    SCATTER,
    SECOND,
    START,
    VARIANCE,
    F,
    G,
)

_FEW = 24
_SHORT = 20
_AT_LEAST_WHEN_SHORT = 0.3  # a few residuals cannot show that they are independent
_MOST = 0.9
_OVER_NEIGHBOURS = 9.0
"""Noise correlated by 0.8 scatters 2.6 times as much as its neighbours differ: what is left beyond three times that is
no noise but a law that does not fit, and must not pass for noise."""
_LEAST_VARIANCE = 0.25e-8  # (0.00005)^2: half a digit of an instrument that shows four


@inlined
def learn_noise(which, file, k, scalars, times, values, n):
    """Variance, and the share of samples that are worth as much as independent ones: (1 - rho)/(1 + rho)."""
    since = 0 if n <= _FEW else (n - 1) // 2
    squares, products, before, apart = 0.0, 0.0, 0.0, 0.0
    for i in range(since, n):
        t, y = times[i] - scalars[START], values[i] - scalars[ORIGIN]
        functions(which, file, t)
        off = off_by(scalars, t, y)
        left = y - file[END + k] - file[FIRST + k] * file[F + k] - file[SECOND + k] * file[G + k]
        left /= math.sqrt(1.0 + off * off / scalars[VARIANCE])  # the law's own part is no noise
        squares += left * left
        products += left * before if i > since else 0.0
        before = left
        if i > since + 1:
            apart += (values[i] - 2.0 * values[i - 1] + values[i - 2]) ** 2
    count = n - since
    rho = products / squares if squares > 0.0 else 0.0
    rho = min(max(rho + (1.0 + 4.0 * rho) / count, 0.0), _MOST)  # the estimate's own bias, to first order
    if count < _SHORT:
        rho = max(rho, _AT_LEAST_WHEN_SHORT)
    scalars[CORRELATION] = (1.0 - rho) / (1.0 + rho)
    neighbours = max(apart / (6.0 * max(count - 2, 1)), _LEAST_VARIANCE)
    scalars[SCATTER] = max(squares / max(count - 3, 2), _LEAST_VARIANCE)
    scalars[VARIANCE] = min(scalars[SCATTER], _OVER_NEIGHBOURS * neighbours)
