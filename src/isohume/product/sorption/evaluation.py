"""Curves of a model evaluated and inverted through the compiled loops."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from isohume.product.sorption.kernels.evaluation import curve_at, inverse_at
from isohume.product.sorption.kernels.layout import WIDTH

_Array = NDArray[np.float64]


def curve_of(place: int, a_w: _Array, kelvin: _Array, values: _Array) -> _Array:
    """Rows: moisture, slope, derivatives by each parameter, of the model at `place`."""
    out = np.empty((2 + values.size, a_w.size))
    curve_at(place, np.ascontiguousarray(a_w), np.ascontiguousarray(kelvin), values, out, np.empty(2 + WIDTH))
    return out


def inverse_of(place: int, moisture: _Array, kelvin: _Array, values: _Array, low: float, high: float) -> _Array:
    """The a_w of each moisture between low and high; nan where the curve does not reach it."""
    out = np.empty(moisture.size)
    inverse_at(
        place, np.ascontiguousarray(moisture), np.ascontiguousarray(kelvin), values, low, high, out, np.empty(2 + WIDTH)
    )
    return out
