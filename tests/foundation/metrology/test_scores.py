"""Scores of comparisons with reference values."""

import pytest

from isohume.foundation.metrology import e_n, score_word, z_score, zeta_score
from isohume.foundation.quantity import InputError


def test_e_n_of_the_worked_cases():
    # ISO 13528:2015, 9.7, computed cases with k = 2
    assert e_n(0.757, 0.004, 0.753, 0.0024) == pytest.approx(0.8575, abs=0.00005)
    assert e_n(0.744, 0.006, 0.753, 0.0024) == pytest.approx(-1.3927, abs=0.00005)


def test_zeta_with_half_the_uncertainties_is_twice_e_n():
    assert zeta_score(0.757, 0.002, 0.753, 0.0012) == pytest.approx(1.7150, abs=0.00005)


def test_z_of_the_printed_list():
    # ISO 13528 as worked in a public manual: sigma 0.006279, reference 1
    assert z_score(0.988, 1.0, 0.006279) == pytest.approx(-1.911, abs=0.0005)


@pytest.mark.parametrize(
    ("score", "word"),
    [(0.0, "acceptable"), (-1.99, "acceptable"), (2.0, "warning"), (-2.07, "warning"), (3.0, "action"), (-9, "action")],
)
def test_what_a_score_says(score, word):
    assert score_word(score) == word


@pytest.mark.parametrize(
    "call",
    [
        lambda: e_n(0.75, 0.0, 0.75, 0.0),
        lambda: e_n(float("nan"), 0.004, 0.753, 0.0024),
        lambda: zeta_score(0.75, -0.1, 0.75, 0.1),
        lambda: z_score(0.75, 0.75, 0.0),
        lambda: score_word(float("inf")),
    ],
)
def test_refuses(call):
    with pytest.raises(InputError):
        call()
