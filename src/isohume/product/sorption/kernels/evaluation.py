"""A fitted curve at many a_w, and the a_w of many moistures: in closed form where there is one, else by a root."""

from __future__ import annotations

import numpy as np

from isohume.product.sorption.kernels.compiled import inlined, kernel
from isohume.product.sorption.models.dispatch import curve, inverse

_ENOUGH = 4e-16


@kernel
def curve_at(k, a, t, p, out, point):
    """Columns of `out`: moisture, slope and derivatives at each a_w; `point` holds one of them while it is made."""
    for i in range(a.size):
        curve(k, a[i], t[i if t.size > 1 else 0], p, point)
        for j in range(out.shape[0]):
            out[j, i] = point[j]


@inlined
def root_between(k, x, t, p, low, high, point):
    """The a_w of moisture x between low and high, by Newton's steps held inside the bracket; nan where it has none."""
    curve(k, low, t, p, point)
    below = point[0] - x
    if below == 0.0:
        return low
    curve(k, high, t, p, point)
    above = point[0] - x
    if above == 0.0:
        return high
    if not below * above < 0.0:
        return np.nan
    a = 0.5 * (low + high)
    for _ in range(200):
        curve(k, a, t, p, point)
        off = point[0] - x
        if off == 0.0:
            return a
        if off * below > 0.0:
            low = a
        else:
            high = a
        step = off / point[1] if point[1] != 0.0 else np.inf
        new = a - step
        if not low < new < high:
            new = 0.5 * (low + high)
        if abs(new - a) <= _ENOUGH * abs(a):
            return new
        a = new
    return a


@kernel
def inverse_at(k, x, t, p, low, high, out, point):
    """The a_w of each moisture."""
    for i in range(x.size):
        kelvin = t[i if t.size > 1 else 0]
        out[i] = inverse(k, x[i], kelvin, p)
        if not low <= out[i] <= high:
            out[i] = root_between(k, x[i], kelvin, p, low, high, point)
