"""The scope gate: exclusions of ISO 18787 as its scope states them, volatile compounds as a caution."""

from __future__ import annotations

import pytest

from isohume.bench.reading import SCOPE_FLAGS, judge_scope
from isohume.foundation.quantity import UnknownNameError


@pytest.mark.parametrize("flag", ["frozen", "water-in-oil emulsion", "crystalline sugar or salt"])
def test_what_the_standard_excludes_is_outside(flag: str) -> None:
    found = judge_scope([flag])
    assert not found.inside
    assert found.words == "outside ISO 18787 scope"
    assert "excludes" in found.reasons[0]


def test_volatile_is_a_caution_that_leaves_the_product_inside() -> None:
    found = judge_scope(["volatile"])
    assert found.inside
    assert found.words == "inside ISO 18787 scope"
    assert "adapted" in found.reasons[0]


def test_every_flag_gives_its_reason() -> None:
    found = judge_scope(SCOPE_FLAGS)
    assert not found.inside
    assert len(found.reasons) == len(SCOPE_FLAGS) + 1  # and that a reading is reported as outside scope
    assert set(SCOPE_FLAGS) == {"frozen", "water-in-oil emulsion", "crystalline sugar or salt", "volatile"}


def test_no_flag_is_inside_without_a_word() -> None:
    assert judge_scope([]) == judge_scope(())
    assert judge_scope([]).inside
    assert judge_scope([]).reasons == ()


def test_an_unknown_flag_is_refused_with_the_known_ones() -> None:
    with pytest.raises(UnknownNameError, match="water-in-oil emulsion"):
        judge_scope(["emulsion"])
