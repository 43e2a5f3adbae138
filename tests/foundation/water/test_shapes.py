"""One formula for floats and arrays: shapes, blocks, broadcasting."""

import math

import numpy as np
import pytest

from isohume.foundation.water.shapes import BLOCK, between, evaluated


def hypotenuse(m, x, y):
    return m.sqrt(x * x + y * y)


def test_floats_go_through_math():
    assert evaluated(hypotenuse, 3.0, 4) == 5.0
    assert isinstance(evaluated(hypotenuse, 3.0, 4.0), float)


@pytest.mark.parametrize("size", [0, 1, BLOCK - 1, BLOCK, BLOCK + 1, 3 * BLOCK + 7])
def test_every_element_of_every_block_is_worked_on(size):
    x = np.arange(size, dtype=float)
    assert np.array_equal(evaluated(hypotenuse, x, 0.0), x)


def test_shape_is_kept_and_arguments_are_broadcast():
    x, y = np.arange(6.0).reshape(2, 3), np.array([[1.0], [2.0]])
    assert np.allclose(evaluated(hypotenuse, x, y), np.hypot(x, y), rtol=1e-15)
    assert evaluated(hypotenuse, np.array(3.0), 4.0).shape == ()


def test_an_argument_is_not_changed():
    x = np.array([3.0, 4.0])
    evaluated(hypotenuse, x, 1.0)
    assert x.tolist() == [3.0, 4.0]


def test_integers_and_strided_arrays():
    x = np.arange(10)[::3]
    assert evaluated(hypotenuse, x, 0.0).tolist() == [0.0, 3.0, 6.0, 9.0]


def test_between():
    assert between(1 + 1e-15, 0.0, 1.0) == 1.0
    assert between(np.array([-1e-16, 0.5]), 0.0, 1.0).tolist() == [0.0, 0.5]
    assert between(math.pi, 0.0, 4.0) == math.pi
