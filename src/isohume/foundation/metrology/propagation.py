"""The law of propagation of uncertainty: correlated inputs, sensitivities, effective dof, second order."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from isohume.foundation.metrology.budget import coverage_factor, welch_satterthwaite
from isohume.foundation.metrology.covariance_matrix import covariance_matrix, is_diagonal
from isohume.foundation.metrology.derivatives import Derivative, Model, gradient, gradients_beside
from isohume.foundation.quantity.errors import InputError

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Propagation:
    """A result with its standard uncertainty and how it came about.

    `contributions` are abs(c_i) u_i; with correlations their squares do not add up to u^2. `dof` is None
    where correlated inputs have finite degrees of freedom: the source's formula is not for them. With
    second-order terms asked for, `second_order_variance` is part of u^2 and `second_order_shift` (not applied
    to the value) is half the sum of f_ii u_i^2.
    """

    value: float
    u: float
    dof: float | None
    sensitivities: tuple[float, ...]
    contributions: tuple[float, ...]
    names: tuple[str, ...]
    derivative: Derivative
    second_order_variance: float | None = None
    second_order_shift: float | None = None

    def expanded_u(self, probability: float = 0.95) -> float:
        """U = k u for a two-sided coverage probability, k from t with the truncated effective dof."""
        if self.dof is None:
            raise InputError("dof", "none", "effective dof; correlated inputs of finite dof have none")
        return coverage_factor(probability, self.dof) * self.u


def propagate(
    model: Model,
    values: Sequence[float],
    u: Sequence[float] | None = None,
    *,
    correlation: ArrayLike | None = None,
    covariance: ArrayLike | None = None,
    dof: Sequence[float] | None = None,
    names: Sequence[str] | None = None,
    second_order: bool = False,
    derivative: Derivative = "auto",
) -> Propagation:
    """A model's value with the standard uncertainty its inputs give it.

        u_c^2 = sum_ij c_i c_j u(x_i, x_j);  second order adds sum_ij (f_ij^2/2 + f_i f_ijj) u_i^2 u_j^2
    model: a function of as many numbers as there are values, returning one number [any unit].
    values: the inputs' estimates [units of the inputs].
    u: their standard uncertainties [units of the inputs], zero or more; or give covariance.
    correlation: their correlation matrix [1], with u; None for independent inputs.
    covariance: their covariance matrix [units of the inputs], in place of u and correlation.
    dof: their degrees of freedom [1], 1 or more; None for infinite.
    names: their names [text], for the budget.
    second_order: whether to add the second-order terms [1]; for independent normal inputs only.
    derivative: how sensitivities are found, "auto" unless a reason is known [text].
    Returns: the Propagation [unit of the result].
    Raises: InputError for unequal lengths, a matrix that is no covariance, second order with correlation.
    Example: the end-gauge model of the source: u = 32 nm; with second-order terms 34 nm.
    Source: JCGM100, 5.1, 5.2 and G.4.
    """
    size = len(values)
    matrix = _covariance(size, u, correlation, covariance)
    us = np.sqrt(np.diag(matrix))
    dofs = [math.inf] * size if dof is None else [float(one) for one in dof]
    labels = tuple(names) if names is not None else tuple(f"x{i + 1}" for i in range(size))
    if len(dofs) != size or len(labels) != size:
        raise InputError("dof", f"{len(dofs)} dof and {len(labels)} names", f"{size} of each, one a value")
    found = gradient(model, values, us.tolist(), derivative)
    variance = float(found.slopes @ matrix @ found.slopes)
    contributions = np.abs(found.slopes) * us
    # of the first-order terms alone: counting second-order ones as certain would flatter the result
    effective_dof = _effective_dof(contributions, dofs, matrix, variance)
    extra = shift = None
    if second_order:
        if not is_diagonal(matrix):
            raise InputError("second_order", "true", "independent inputs; the terms are not for correlated ones")
        extra, shift = _second_order(model, values, us, found.slopes, found.method)
        variance += extra
    return Propagation(
        value=found.value,
        u=math.sqrt(max(0.0, variance)),
        dof=effective_dof,
        sensitivities=tuple(found.slopes.tolist()),
        contributions=tuple(contributions.tolist()),
        names=labels,
        derivative=found.method,
        second_order_variance=extra,
        second_order_shift=shift,
    )


def _second_order(
    model: Model, values: Sequence[float], us: Floats, slopes: Floats, method: Derivative
) -> tuple[float, float]:
    second, third = gradients_beside(model, values, us.tolist(), method)
    squares = us * us
    terms = (0.5 * second * second + slopes[:, None] * third) * np.outer(squares, squares)
    return float(terms.sum()), float(0.5 * (np.diag(second) * squares).sum())


def _effective_dof(contributions: Floats, dofs: Sequence[float], matrix: Floats, variance: float) -> float | None:
    limiting = [math.isfinite(d) and c > 0.0 for c, d in zip(contributions, dofs, strict=True)]
    if not any(limiting) or variance <= 0.0:
        return math.inf
    if any(limiting[i] and np.count_nonzero(row) > 1 for i, row in enumerate(matrix)):
        return None
    # inputs of infinite dof, correlated or not, limit nothing: only their share of the variance counts
    limited = [(float(c), d) for c, d in zip(contributions, dofs, strict=True) if math.isfinite(d)]
    rest = max(0.0, variance - math.fsum(c * c for c, _ in limited))
    return welch_satterthwaite([*limited, (math.sqrt(rest), math.inf)])


def _covariance(
    size: int, u: Sequence[float] | None, correlation: ArrayLike | None, covariance: ArrayLike | None
) -> Floats:
    if (u is None) == (covariance is None):
        raise InputError("u", "both or neither of u and covariance", "u (with correlation) or covariance")
    if covariance is not None:
        if correlation is not None:
            raise InputError("correlation", "given beside covariance", "correlation only together with u")
        return covariance_matrix(covariance, size)
    us = np.asarray(u, dtype=float)
    if us.shape != (size,):
        raise InputError("u", f"shape {us.shape}", f"{size} numbers, one a value")
    if not np.all((us >= 0.0) & np.isfinite(us)):
        raise InputError("u", us.tolist(), "finite standard uncertainties of zero or more")
    return covariance_matrix(np.diag(us * us) if correlation is None else _correlated(size, us, correlation), size)


def _correlated(size: int, us: Floats, correlation: ArrayLike) -> Floats:
    r = np.asarray(correlation, dtype=float)
    if r.shape != (size, size):
        raise InputError("correlation", f"shape {r.shape}", f"({size}, {size}), one row a value")
    if not np.allclose(np.diag(r), 1.0):
        raise InputError("correlation", np.diag(r).tolist(), "ones on the diagonal")
    product: Floats = np.outer(us, us) * r
    return product
