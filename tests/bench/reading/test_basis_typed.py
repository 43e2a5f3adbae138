"""A moisture typed on the wrong basis is told by what earlier lots held."""

from __future__ import annotations

import pytest

from isohume.bench.reading.basis_typed import basis_slip
from isohume.bench.reading.plausible import History
from isohume.foundation.quantity.errors import InputError

USUAL = History(12, 0.0740, 0.0008)


def test_a_dry_figure_called_wet_is_told() -> None:
    """Plant C: 8.0 % of solids typed as wet basis; 8.0 % dry basis is 7.41 % wet basis."""
    hint = basis_slip(0.080, "wet", USUAL)
    assert "8.00 % wet basis is not plausible: earlier lots held 7.40 % wet basis" in hint
    assert "Read on dry basis it would fit (7.41 % wet basis)" in hint


def test_a_wet_figure_called_dry_is_told() -> None:
    """7.4 % typed as dry basis would be 6.89 % wet basis."""
    hint = basis_slip(0.074, "dry", USUAL)
    assert "6.89 % wet basis is not plausible" in hint
    assert "Read on wet basis it would fit (7.40 % wet basis)" in hint


@pytest.mark.parametrize(("moisture", "basis"), [(0.0741, "wet"), (0.080, "dry"), (0.0775, "wet")])
def test_a_usual_moisture_gives_no_hint(moisture: float, basis: str) -> None:
    assert basis_slip(moisture, basis, USUAL) == ""  # type: ignore[arg-type]


def test_what_no_basis_explains_is_only_unusual() -> None:
    hint = basis_slip(0.12, "wet", USUAL)
    assert "not plausible" in hint
    assert "would fit" not in hint


@pytest.mark.parametrize("history", [None, History(7, 0.074, 0.0008)])
def test_few_lots_judge_nothing(history: History | None) -> None:
    assert basis_slip(0.5, "wet", history) == ""


def test_a_dry_moisture_above_one_is_no_wet_one() -> None:
    assert "would fit" not in basis_slip(1.4, "dry", USUAL)
    with pytest.raises(InputError, match="bare percentage"):
        basis_slip(0.08, "", USUAL)  # type: ignore[arg-type]
