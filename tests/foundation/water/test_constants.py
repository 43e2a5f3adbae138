"""Every constant names its source, edition, place and how it was verified."""

from pathlib import Path

import pytest

import isohume.foundation.water as package
from isohume.foundation.water.constants import constants

NAMES = sorted(path.stem for path in Path(package.__file__).parent.glob("*.json"))


@pytest.mark.parametrize("name", NAMES)
def test_provenance(name):
    content = constants(name)
    assert content["verified"] in ("text", "memory")
    for key in ("source", "edition", "where", "note"):
        assert content[key]


def test_there_are_four_files():
    assert NAMES == ["iapws_if97", "ice", "latent_heat", "wagner_pruss"]
