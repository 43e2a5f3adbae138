"""What passes for a covariance matrix and what does not."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from isohume.foundation.metrology.covariance_matrix import covariance_matrix, is_diagonal, square_root
from isohume.foundation.quantity import InputError


@settings(derandomize=True, max_examples=60)
@given(
    # thousandths: numbers whose square is not lost below the smallest float
    st.lists(st.integers(min_value=-1000, max_value=1000), min_size=9, max_size=9),
    st.lists(st.floats(min_value=1e-6, max_value=1e3), min_size=3, max_size=3),
)
def test_every_product_of_a_matrix_with_its_transpose_passes_and_has_a_root(entries, scales):
    root = np.array(entries).reshape(3, 3) / 1000.0 * np.array(scales)[:, None]
    matrix = root @ root.T
    factor = square_root(covariance_matrix(matrix, 3))
    u = np.sqrt(np.diag(matrix))
    assert np.all(np.abs(factor @ factor.T - matrix) <= 1e-9 * np.outer(u, u))


@pytest.mark.parametrize(
    "matrix",
    [
        [[1.0]],
        [[1.0, 0.2], [0.3, 1.0]],
        [[1.0, 1.5], [1.5, 1.0]],
        [[0.0, 1e-12], [1e-12, 1.0]],
        [[-1.0, 0.0], [0.0, 1.0]],
        [[1.0, float("nan")], [float("nan"), 1.0]],
    ],
)
def test_refuses_what_is_none(matrix):
    with pytest.raises(InputError, match="covariance"):
        covariance_matrix(matrix, 2)


def test_refuses_three_correlations_that_cannot_be_true_together():
    # each within -1 to 1, but if a goes with b and b with c, a cannot go against c
    with pytest.raises(InputError, match="direction"):
        covariance_matrix([[1.0, 0.9, -0.9], [0.9, 1.0, 0.9], [-0.9, 0.9, 1.0]], 3)


def test_diagonal():
    assert is_diagonal(np.diag([1.0, 0.0, 2.0]))
    assert not is_diagonal(np.array([[0.0, 1.0], [1.0, 0.0]]))
