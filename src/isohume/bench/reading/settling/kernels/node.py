"""The linear part at one node: the value that a trace ends at, its variance, and the evidence for the node."""

from __future__ import annotations

import math

from isohume.bench.reading.settling.kernels.compiled import inlined
from isohume.bench.reading.settling.kernels.layout import (
    END,
    END_VARIANCE,
    EVIDENCE,
    FIRST,
    MISFIT,
    PAIR,
    SECOND,
    SPAN,
    USED_BLOCKS,
    VARIANCE,
)

_END_SD = 0.25  # of the value it ends at, about the first reading
_PRIOR_DOF = 8.0  # the noise is known from samples next to each other as well as from this many residuals


@inlined
def add_sample(sums, f, g, y, w):
    """One sample of weight w."""
    wf, wg, wy = w * f, w * g, w * y
    sums[0] += w
    sums[1] += wf
    sums[2] += wg
    sums[3] += wf * f
    sums[4] += wf * g
    sums[5] += wg * g
    sums[6] += wy
    sums[7] += wf * y
    sums[8] += wg * y
    sums[9] += wy * y


@inlined
def solve(which, sums, scalars, out):
    """Coefficients with a wide normal prior each, by Cholesky; noise integrated out: the end follows Student's t."""
    noise, span = scalars[VARIANCE], scalars[SPAN]
    first_sd = 0.1 + 2.0 * span
    second_sd = 0.05 + 1.5 * span if which == PAIR else 0.01 + 0.3 * span
    r0, r1, r2 = noise / (_END_SD * _END_SD), noise / (first_sd * first_sd), noise / (second_sd * second_sd)
    l00 = math.sqrt(sums[0] + r0)
    l10, l20 = sums[1] / l00, sums[2] / l00
    l11 = math.sqrt(max(sums[3] + r1 - l10 * l10, 1e-3 * r1))
    l21 = (sums[4] - l20 * l10) / l11
    l22 = math.sqrt(max(sums[5] + r2 - l20 * l20 - l21 * l21, 1e-3 * r2))
    z0 = sums[6] / l00
    z1 = (sums[7] - l10 * z0) / l11
    z2 = (sums[8] - l20 * z0 - l21 * z1) / l22
    left = max(sums[9] - z0 * z0 - z1 * z1 - z2 * z2, 0.0)
    out[SECOND] = z2 / l22
    out[FIRST] = (z1 - l21 * out[SECOND]) / l11
    out[END] = (z0 - l10 * out[FIRST] - l20 * out[SECOND]) / l00
    u0 = 1.0 / l00
    u1 = -l10 * u0 / l11
    u2 = (-l20 * u0 - l21 * u1) / l22
    half_dof = 0.5 * (_PRIOR_DOF + scalars[USED_BLOCKS])
    scale = (0.5 * _PRIOR_DOF * noise + 0.5 * left) / half_dof
    out[MISFIT] = scale / noise
    out[END_VARIANCE] = (u0 * u0 + u1 * u1 + u2 * u2) * scale
    out[EVIDENCE] = -math.log(l00 * l11 * l22 / math.sqrt(r0 * r1 * r2)) - half_dof * math.log(scale / noise)
