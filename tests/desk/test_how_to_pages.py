"""The examples of the desk's how-to pages print what the pages say."""

import doctest
from pathlib import Path

import pytest

PAGES = Path(__file__).parents[2] / "docs" / "how-to"


@pytest.mark.parametrize("name", ["restate-at-another-temperature.md", "isotherm-from-routine-pairs.md"])
def test_examples_run(name):
    found = doctest.testfile(str(PAGES / name), module_relative=False, report=True)
    assert found.attempted > 5
    assert found.failed == 0
