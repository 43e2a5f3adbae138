"""Derivatives of a model at a point: by the complex step where the model takes it, else by differences.

The complex step has no cancellation, but a model that takes an absolute value or compares its input can
answer it wrongly without an error; every complex-step gradient is therefore held against plain differences.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray

from isohume.foundation.quantity.errors import InputError

Model = Callable[..., Any]
Floats = NDArray[np.float64]
Derivative = Literal["auto", "complex step", "central differences"]
_AGREE = 1e-3  # complex step and differences must agree to this share of the largest contribution


@dataclass(frozen=True, slots=True)
class Gradient:
    """The model's value and first derivatives at a point, and how they were found."""

    value: float
    slopes: Floats
    method: Derivative


def gradient(model: Model, values: Sequence[float], scales: Sequence[float], method: Derivative = "auto") -> Gradient:
    """The first derivatives of a model at a point.

        complex step: Im f(x + i h)/h; differences: six points, order 6, spread over x - u to x + u
    model: a function of as many numbers as there are values [any unit].
    values: where [units of the inputs].
    scales: how far the inputs move [units of the inputs], their standard uncertainties; 0 where exact.
    method: "complex step", "central differences", or "auto" (the first, held against the second) [text].
    Returns: the Gradient [unit of the result over units of the inputs].
    Raises: InputError where the model's value is not finite, or it refuses complex numbers asked for by name.
    Example: model x*y at (2, 3): slopes (3, 2).
    Source: JCGM100, 5.1.3.
    """
    point = np.asarray(values, dtype=float)
    value = float(model(*point.tolist()))
    if not np.isfinite(value):
        raise InputError("model", value, "a finite value at the given inputs")
    if method == "complex step":
        return Gradient(value, _complex_step(model, point), "complex step")
    steps = _steps(point, np.asarray(scales, dtype=float))
    differences = _differences(model, point, steps)
    if method == "central differences":
        return Gradient(value, differences, "central differences")
    try:
        slopes = _complex_step(model, point)
    except (TypeError, ValueError, InputError):  # the model does not take complex numbers
        return Gradient(value, differences, "central differences")
    weight = np.abs(differences * steps)
    if np.all(np.abs(slopes - differences) * steps <= _AGREE * weight.max() + 1e-12 * abs(value)):
        return Gradient(value, slopes, "complex step")
    return Gradient(value, differences, "central differences")


def _complex_step(model: Model, point: Floats) -> Floats:
    slopes = np.empty(point.size)
    for i, x in enumerate(point):
        h = 1e-30 * max(abs(float(x)), 1e-30)
        moved: list[complex] = [complex(one) for one in point]
        moved[i] = complex(x, h)
        slopes[i] = complex(model(*moved)).imag / h
    return slopes


def _steps(point: Floats, scales: Floats) -> Floats:
    """A third of u, so that six points span x - u to x + u; never below what rounding would swallow."""
    steps = np.maximum(scales / 3.0, 1e-5 * np.abs(point))
    return np.where(steps > 0.0, steps, 1e-5)


def _differences(model: Model, point: Floats, steps: Floats) -> Floats:
    slopes = np.empty(point.size)
    for i, h in enumerate(steps):
        total = 0.0
        for factor, share in ((1, 45.0), (2, -9.0), (3, 1.0)):
            ahead, behind = point.copy(), point.copy()
            ahead[i] += factor * h
            behind[i] -= factor * h
            total += share * (float(model(*ahead.tolist())) - float(model(*behind.tolist())))
        slopes[i] = total / (60.0 * h)
    return slopes


def gradients_beside(
    model: Model, values: Sequence[float], scales: Sequence[float], method: Derivative
) -> tuple[Floats, Floats]:
    """Second and mixed third derivatives, from first derivatives at points beside the given one.

        f_ij = d(f_i)/dx_j;  f_ijj = d2(f_i)/dx_j^2, five points spread over x_j - u_j to x_j + u_j
    model: a function of as many numbers as there are values [any unit].
    values: where [units of the inputs].
    scales: standard uncertainties of the inputs [units of the inputs]; inputs with 0 are skipped.
    method: how first derivatives are found [text].
    Returns: (f_ij, f_ijj), square arrays [unit of the result over units of the inputs], 0 where skipped.
    Raises: InputError as gradient does.
    Source: JCGM100, 5.1.2 note.
    """
    point, size = np.asarray(values, dtype=float), len(values)
    second, third = np.zeros((size, size)), np.zeros((size, size))
    here = gradient(model, values, scales, method).slopes
    for j, scale in enumerate(scales):
        if scale <= 0.0:
            continue
        h = max(0.5 * scale, 1e-5 * abs(float(point[j])))
        beside = []
        for factor in (-2, -1, 1, 2):
            moved = point.copy()
            moved[j] += factor * h
            beside.append(gradient(model, moved.tolist(), scales, method).slopes)
        a, b, c, d = beside
        second[:, j] = (a - 8.0 * b + 8.0 * c - d) / (12.0 * h)
        third[:, j] = (-a + 16.0 * b - 30.0 * here + 16.0 * c - d) / (12.0 * h * h)
    return second, third
