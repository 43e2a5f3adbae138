"""Names: formulas, English names, hydrates, any case; the nearest three of an unknown one."""

import pytest

from isohume.foundation.quantity.errors import InputError, UnknownNameError
from isohume.foundation.solutions import known_solutions, solution_key
from isohume.foundation.solutions.names import english_name, hazard_cautions


@pytest.mark.parametrize(
    ("written", "key"),
    [
        ("NaCl", "NaCl"),
        ("nacl", "NaCl"),
        ("  NACL ", "NaCl"),
        ("Sodium Chloride", "NaCl"),
        ("sodiumchloride", "NaCl"),
        ("lithium chloride", "LiCl"),
        ("LiCl.H2O", "LiCl"),
        ("LiCl·H2O", "LiCl"),
        ("potassium acetate", "CH3COOK"),
        ("KCH3COO", "CH3COOK"),
        ("CH3COOK", "CH3COOK"),
        ("ch3cook", "CH3COOK"),
        ("MgCl2.6H2O", "MgCl2"),
        ("MgCl2 · 6H2O", "MgCl2"),
        ("MgCl2*6 H2O", "MgCl2"),
        ("MgCl₂·6H₂O", "MgCl2"),
        ("Mg(NO3)2.6H2O", "Mg(NO3)2"),
        ("magnesium nitrate hexahydrate", "Mg(NO3)2"),
        ("K2CO3.1.5H2O", "K2CO3"),
        ("potassium carbonate sesquihydrate", "K2CO3"),
        ("ammonium sulphate", "(NH4)2SO4"),
        ("Ammonium Sulfate", "(NH4)2SO4"),
        ("anhydrous", None),
        ("cesium fluoride", "CsF"),
        ("glycerine", "glycerol"),
        ("saccharose", "sucrose"),
    ],
)
def test_names_resolve(written, key):
    if key is None:
        with pytest.raises(UnknownNameError):
            solution_key(written)
    else:
        assert solution_key(written) == key


@pytest.mark.parametrize(("written", "near"), [("NaCk", "NaCl"), ("potasium acetate", "CH3COOK"), ("MgCl", "MgCl2")])
def test_an_unknown_name_gives_the_three_nearest(written, near):
    with pytest.raises(UnknownNameError) as error:
        solution_key(written)
    assert near in error.value.nearest
    assert len(set(error.value.nearest)) == 3
    assert set(error.value.nearest) <= set(known_solutions())


@pytest.mark.parametrize("written", ["", "   ", None, 5])
def test_a_blank_is_an_error(written):
    with pytest.raises(InputError, match="solution"):
        solution_key(written)


@pytest.mark.parametrize("key", known_solutions())
def test_every_key_and_english_name_resolves_to_itself(key):
    assert solution_key(key) == key
    assert solution_key(english_name(key).upper()) == key


def test_salts_not_worth_trusting_are_known_but_not_offered():
    assert solution_key("sodium iodide") == "NaI"
    assert not {"NaI", "KF", "CoCl2", "K2CrO4"} & set(known_solutions())


@pytest.mark.parametrize(
    ("key", "word"),
    [("KOH", "corrosive"), ("NaOH", "corrosive"), ("LiCl", "harmful"), ("KNO3", "oxidising"), ("ZnBr2", "corrosive")],
)
def test_hazards_are_named_and_marked_as_practice(key, word):
    words = hazard_cautions(key)
    assert any(word in caution for caution in words)
    assert "no source" in words[-1]


def test_a_harmless_salt_has_no_caution():
    assert hazard_cautions("NaCl") == ()
