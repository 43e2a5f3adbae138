"""A supplier's lot against its certificate: bases converted, both uncertainties, the critical difference."""

from __future__ import annotations

import math

import numpy as np
import pytest

from isohume.bench.decision.supplier_lot import (
    Stated,
    against_limit,
    basis_hint,
    compare,
    compare_a_w,
    on_basis,
)
from isohume.foundation.quantity.errors import InputError


@pytest.mark.parametrize(
    ("value", "basis", "wanted", "found"),
    [
        (0.080, "wet", "dry", 0.0870),
        (0.080, "dry", "wet", 0.0741),
        (0.25, "wet", "dry", 1 / 3),
        (1.0, "dry", "wet", 0.5),
    ],
)
def test_bases_are_converted(value: float, basis: str, wanted: str, found: float) -> None:
    """8.0 % wet basis is 8.70 % dry basis; 8.0 % dry basis is 7.41 % wet basis (the definition, by hand)."""
    assert on_basis(Stated(value), basis, wanted).value == pytest.approx(found, abs=5e-5)  # type: ignore[arg-type]


def test_the_uncertainty_is_converted_with_it() -> None:
    """Against a simulation of the definition itself."""
    drawn = np.random.default_rng(8).normal(0.08, 0.002, 400_000)
    turned = on_basis(Stated(0.08, 0.002), "wet", "dry")
    assert turned.u == pytest.approx(float(np.std(drawn / (1 - drawn))), rel=0.01)
    assert on_basis(turned, "dry", "wet").u == pytest.approx(0.002)


@pytest.mark.parametrize("basis", ["", "%", "as is"])
def test_a_bare_percentage_has_no_meaning(basis: str) -> None:
    with pytest.raises(InputError, match="bare percentage"):
        on_basis(Stated(0.08), basis, "wet")  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("difference", "words"), [(0.0, "agrees"), (0.0027, "agrees"), (0.0029, "questionable"), (0.0043, "differs")]
)
def test_both_uncertainties_judge(difference: float, words: str) -> None:
    """u 0.001 on either side: sqrt(2) 0.001 is 1 zeta; 2 is 0.00283, 3 is 0.00424 (ISO 13528, 9.6)."""
    found = compare(Stated(0.0741 + difference, 0.001), Stated(0.0741, 0.001))
    assert found.words == words
    assert found.zeta == pytest.approx(difference / (0.001 * math.sqrt(2)))


def test_without_the_certificate_s_u_nothing_is_invented() -> None:
    near = compare(Stated(0.0745, 0.0008), Stated(0.0741))
    assert (near.words, near.zeta) == ("agrees", None)
    assert "the certificate gives no uncertainty" in near.reasons[0]
    far = compare(Stated(0.0780, 0.0008), Stated(0.0741))
    assert (far.words, far.u) == ("not judged", None)
    assert compare(Stated(0.0741), Stated(0.0741)).words == "not judged"


def test_our_missing_u_is_called_ours() -> None:
    assert "our determination gives no uncertainty" in compare(Stated(0.09), Stated(0.074, 0.001)).reasons[0]


def test_a_w_without_a_u_is_judged_by_what_laboratories_differ_by() -> None:
    """R = 2.8 x 0.010 = 0.028 for single portions; two of ours narrow it a little (ISO 5725-6)."""
    one = compare_a_w(Stated(0.452, 0.003), Stated(0.430), s_r=0.002)
    assert (one.words, one.critical) == ("agrees", pytest.approx(0.028))
    two = compare_a_w(Stated(0.458, 0.003), Stated(0.430), s_r=0.002, portions=2)
    assert two.critical == pytest.approx(math.sqrt(0.028**2 - 0.0056**2 / 4), abs=1e-9)
    assert two.words == "differs"
    assert compare_a_w(Stated(0.452, 0.003), Stated(0.430, 0.003), s_r=0.002).words == "differs"


@pytest.mark.parametrize(
    ("value", "u", "words"),
    [
        (0.0741, None, "inside the limit"),
        (0.0741, 0.001, "inside, not beyond doubt"),
        (0.0700, 0.001, "inside the limit"),
        (0.0750, None, "inside the limit"),
        (0.07501, None, "beyond the limit"),
    ],
)
def test_against_a_limit(value: float, u: float | None, words: str) -> None:
    assert against_limit(Stated(value, u), 0.075).words == words


def test_a_limit_at_the_value_is_a_coin() -> None:
    assert against_limit(Stated(0.075, 0.001), 0.075).probability == pytest.approx(0.5)


def test_the_basis_trap_is_named() -> None:
    """Plant C: a certificate's 8.0 % called wet, ours 7.43 % wet: on dry basis it would agree."""
    hint = basis_hint(Stated(0.0743, 0.0008), Stated(0.080, 0.0005), "wet")
    assert "would on dry basis: ask the supplier" in hint
    assert basis_hint(Stated(0.0743, 0.0008), Stated(0.080, 0.0005), "dry") == ""
    assert "dry basis only" in basis_hint(Stated(0.0743, 0.0008), Stated(0.080, 0.0005), None)
    assert "names no basis" in basis_hint(Stated(0.0600, 0.0008), Stated(0.080, 0.0005), None)


@pytest.mark.parametrize("given", [(math.nan, None), (0.07, 0.0), (0.07, -0.1), (0.07, math.inf)])
def test_numbers_that_are_none_are_refused(given: tuple[float, float | None]) -> None:
    with pytest.raises(InputError):
        Stated(*given)
