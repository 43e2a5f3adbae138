"""The example in each public docstring is what the function gives, to the digits printed there."""

import inspect
import re

import pytest

import isohume.foundation.water as water
from isohume.outlets.validate.check import last_digit

FUNCTIONS = [name for name in water.__all__ if callable(getattr(water, name))]
# the result is a truth there, tested beside the guard's worked cases
TRUTHS = {"would_condense"}


@pytest.mark.parametrize("name", [name for name in FUNCTIONS if name not in TRUTHS])
def test_example(name):
    text = inspect.getdoc(getattr(water, name))
    example = re.search(rf"Example: {name}\(([^)]*)\) = ([+-]?[\d.]+)", text)
    arguments = [float(number) for number in example[1].split(",")]
    printed = example[2].rstrip(".")
    assert getattr(water, name)(*arguments) == pytest.approx(float(printed), abs=0.5 * last_digit(printed))


def test_every_public_name_is_there():
    assert sorted(water.__all__) == water.__all__
    assert len(FUNCTIONS) == 16
