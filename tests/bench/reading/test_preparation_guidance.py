"""Preparation guidance: each form has its steps, all of them marked as common practice."""

from __future__ import annotations

import pytest

from isohume.bench.reading import FORMS, guidance
from isohume.bench.reading.preparation_guidance import _data
from isohume.foundation.quantity import UnknownNameError

OWN = {  # the one thing that must not be missing, from the trade's common practice
    "powder or flakes": "level",
    "hard pieces": "do not shred",
    "syrup or sauce": "Pour",
    "baked goods": "Crumble",
    "soft or filled pieces": "component",
    "coated pieces": "whole or cut",
    "liquid or ointment": "spatula",
}


def test_the_forms_are_those_of_the_data() -> None:
    assert set(FORMS) == set(_data()["form"]) == set(OWN)


@pytest.mark.parametrize("form", FORMS)
def test_every_form_says_what_all_share_and_what_is_its_own(form: str) -> None:
    found = guidance(form)
    steps = " ".join(found.steps)
    assert found.form == form
    assert found.source == "common practice (no source)"
    assert OWN[form] in steps
    for shared in ("bottom completely", "at most half", "rim", "lid on at once"):
        assert shared in steps
    assert "film" in " ".join(found.cautions)
    assert "hot sample" in " ".join(found.cautions)
    assert all(line.endswith(".") for line in (*found.steps, *found.cautions))


def test_the_lid_comes_last() -> None:
    assert all("lid" in guidance(form).steps[-1] for form in FORMS)


def test_a_form_in_any_case_is_found_and_an_unknown_one_is_refused_with_the_known_ones() -> None:
    assert guidance(" Baked Goods ").form == "baked goods"
    with pytest.raises(UnknownNameError, match="hard pieces") as refused:
        guidance("jelly")
    assert refused.value.field == "form"
