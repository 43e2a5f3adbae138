"""Is a matrix a covariance matrix: square, finite, symmetric, with no negative variance in any direction?"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from isohume.foundation.quantity.errors import InputError

Floats = NDArray[np.float64]
_ROUNDING = 1e-9  # of the standard uncertainties' product: what a printed or computed matrix may be off


def covariance_matrix(given: ArrayLike, size: int) -> Floats:
    """A covariance matrix, once it has shown that it is one.

    given: the matrix [units of the inputs, squared].
    size: how many inputs it is for [1].
    Returns: the matrix as an array [units of the inputs, squared], unchanged.
    Raises: InputError for a wrong shape, numbers that are not finite, asymmetry or a negative variance.
    Source: JCGM100, 5.2.
    """
    matrix = np.asarray(given, dtype=float)
    if matrix.shape != (size, size):
        raise InputError("covariance", f"shape {matrix.shape}", f"({size}, {size}), one row an input")
    if not np.isfinite(matrix).all():
        raise InputError("covariance", "a number that is not finite", "a matrix of finite numbers")
    variances = np.diag(matrix)
    if size and variances.min() < 0.0:
        raise InputError("covariance", float(variances.min()), "variances of zero or more on the diagonal")
    if is_diagonal(matrix):
        return matrix
    u = np.sqrt(variances)
    product = np.outer(u, u)
    if (np.abs(matrix - matrix.T) > _ROUNDING * product).any():
        raise InputError("covariance", "a matrix that is not symmetric", "a symmetric matrix")
    if (np.abs(matrix) > (1.0 + _ROUNDING) * product).any():
        raise InputError("covariance", "a covariance larger than its variances allow", "correlations of -1 to 1")
    scale = np.where(u > 0.0, u, 1.0)
    if np.linalg.eigvalsh(matrix / np.outer(scale, scale)).min() < -_ROUNDING * size:
        raise InputError("covariance", "a negative variance in some direction", "positive semi-definite")
    return matrix


def is_diagonal(matrix: Floats) -> bool:
    """Whether nothing stands beside the diagonal: independent inputs.

    matrix: a square matrix [any unit].
    Returns: whether it is diagonal [text].
    Source: none.
    """
    return int(np.count_nonzero(matrix)) == int(np.count_nonzero(matrix.diagonal()))


def square_root(matrix: Floats) -> Floats:
    """A factor A of a covariance matrix, from eigenvalues so that a singular matrix is allowed.

        A A^T = matrix
    matrix: a covariance matrix that has been checked [units of the inputs, squared].
    Returns: the factor A [units of the inputs].
    Source: JCGM101, 6.4.8.
    """
    u = np.sqrt(np.diag(matrix))
    scale = np.where(u > 0.0, u, 1.0)
    eigenvalues, vectors = np.linalg.eigh(matrix / np.outer(scale, scale))
    factor: Floats = scale[:, None] * (vectors * np.sqrt(np.clip(eigenvalues, 0.0, None)))
    return factor
