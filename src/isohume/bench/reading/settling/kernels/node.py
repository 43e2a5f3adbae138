"""The linear part at nodes: the value that a trace ends at, its variance, and the evidence for a node."""

from __future__ import annotations

import math

from isohume.bench.reading.settling.kernels.compiled import inlined
from isohume.bench.reading.settling.kernels.layout import (
    END,
    END_VARIANCE,
    EVIDENCE,
    FIRST,
    LANES,
    LEFT,
    PAIR,
    S0,
    SECOND,
    SIZES,
    SPAN,
    SUMS,
    USED_BLOCKS,
    VARIANCE,
    F,
    G,
)
from isohume.bench.reading.settling.kernels.plain import logarithm

_END_SD = 0.25  # of the value it ends at, about the first reading
_PRIOR_DOF = 8.0  # the noise is known from samples next to each other as well as from this many residuals
_S1, _S2, _S3, _S4, _S5, _S6, _S7, _S8, _S9 = range(S0 + LANES, S0 + SUMS * LANES, LANES)


@inlined
def forget(file):
    """The sums of no sample."""
    for j in range(SUMS * LANES):
        file[S0 + j] = 0.0


@inlined
def add_sample(file, y, w):
    """One sample of weight w; f and g are those of its time."""
    for k in range(LANES):
        f, g = file[F + k], file[G + k]
        wf, wg, wy = w * f, w * g, w * y
        file[S0 + k] += w
        file[_S1 + k] += wf
        file[_S2 + k] += wg
        file[_S3 + k] += wf * f
        file[_S4 + k] += wf * g
        file[_S5 + k] += wg * g
        file[_S6 + k] += wy
        file[_S7 + k] += wf * y
        file[_S8 + k] += wg * y
        file[_S9 + k] += wy * y


@inlined
def solve(which, file, scalars):
    """Coefficients with a wide normal prior each, by Cholesky; noise integrated out: the end follows Student's t."""
    noise, span = scalars[VARIANCE], scalars[SPAN]
    first_sd = 0.1 + 2.0 * span
    second_sd = 0.05 + 1.5 * span if which in (PAIR, SIZES) else 0.01 + 0.3 * span
    r0, r1, r2 = noise / (_END_SD * _END_SD), noise / (first_sd * first_sd), noise / (second_sd * second_sd)
    half_dof = 0.5 * (_PRIOR_DOF + scalars[USED_BLOCKS])
    known = 0.5 * math.log(r0 * r1 * r2) + half_dof * math.log(noise)
    for k in range(LANES):
        l00 = math.sqrt(file[S0 + k] + r0)
        l10, l20 = file[_S1 + k] / l00, file[_S2 + k] / l00
        l11 = math.sqrt(max(file[_S3 + k] + r1 - l10 * l10, 1e-3 * r1))
        l21 = (file[_S4 + k] - l20 * l10) / l11
        l22 = math.sqrt(max(file[_S5 + k] + r2 - l20 * l20 - l21 * l21, 1e-3 * r2))
        z0 = file[_S6 + k] / l00
        z1 = (file[_S7 + k] - l10 * z0) / l11
        z2 = (file[_S8 + k] - l20 * z0 - l21 * z1) / l22
        left = max(file[_S9 + k] - z0 * z0 - z1 * z1 - z2 * z2, 0.0)
        second = z2 / l22
        first = (z1 - l21 * second) / l11
        u0 = 1.0 / l00
        u1 = -l10 * u0 / l11
        u2 = (-l20 * u0 - l21 * u1) / l22
        scale = 0.5 * (_PRIOR_DOF * noise + left) / half_dof
        file[SECOND + k], file[FIRST + k] = second, first
        file[END + k] = (z0 - l10 * first - l20 * second) / l00
        file[LEFT + k] = scale / noise
        file[END_VARIANCE + k] = (u0 * u0 + u1 * u1 + u2 * u2) * scale
        file[EVIDENCE + k] = known - logarithm(l00 * l11 * l22) - half_dof * logarithm(scale)
