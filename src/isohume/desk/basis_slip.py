"""Moisture written in the wrong basis: pairs that miss an isotherm and hit it after conversion."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from isohume.foundation.quantity.moisture import dry_from_wet, wet_from_dry

if TYPE_CHECKING:
    from isohume.desk.pairs import Pairs
    from isohume.product.sorption.isotherm_fit import Fit

_FAR, _NEAR = 3.0, 2.0  # in standard uncertainties: missed as written, hit as converted
_NAMED = 5  # pairs named in one hint
_WORDS = {
    "wet": "fit once their moisture is read as wet basis: a wet-basis figure stands in the dry-basis column",
    "dry": "fit once their moisture is turned from dry to wet basis: the figure was converted twice, "
    "or the isotherm was kept on wet basis",
}


def basis_hints(stored: Fit, pairs: Pairs, chance: float) -> tuple[str, ...]:
    """Hints that the basis is wrong: of all pairs together, else of single ones; empty where nothing points there."""
    from isohume.desk.stored_isotherm import chi_squared, residuals_of

    hints: list[str] = []
    single: dict[int, str] = {}
    here = residuals_of(stored, pairs)
    before = np.abs(here.left) / np.sqrt(np.diag(here.covariance))
    for basis in _WORDS:
        turned = _converted(pairs, basis)
        if turned is None:
            continue  # a figure of 1 and more is no moisture on wet basis
        there = residuals_of(stored, turned)
        if chi_squared(there)[1] >= chance > chi_squared(here)[1]:
            hints.append(f"the pairs {_WORDS[basis]}")
        after = np.abs(there.left) / np.sqrt(np.diag(there.covariance))
        hit = [i for i in range(pairs.count) if before[i] > _FAR and after[i] < _NEAR]
        single.update({i: basis for i in hit if i not in single})
    if not hints and single and _rest_fits(stored, pairs, set(single), chance):
        for basis, words in _WORDS.items():
            slips = [pairs.name(i) for i in sorted(single) if single[i] == basis]
            if slips:
                rest = f" and {len(slips) - _NAMED} more" if len(slips) > _NAMED else ""
                hints.append(f"{', '.join(slips[:_NAMED])}{rest} {words}")
    return tuple(hints)


def _rest_fits(stored: Fit, pairs: Pairs, slips: set[int], chance: float) -> bool:
    """Whether the other pairs fit: else the shift is no slip of the pen, and some pairs only happen to hit."""
    from isohume.desk.stored_isotherm import chi_squared, residuals_of

    rest = [i for i in range(pairs.count) if i not in slips]
    return bool(rest) and chi_squared(residuals_of(stored, pairs.of(rest)))[1] >= chance


def _converted(pairs: Pairs, basis: str) -> Pairs | None:
    """The pairs with their moisture taken for the other basis, u carried along; None where a wet figure cannot be."""
    if basis == "wet":
        if max(pairs.moisture_db) >= 0.99:
            return None
        moisture = tuple(float(dry_from_wet(x)) for x in pairs.moisture_db)
        stretch = [(1.0 + y) ** 2 for y in moisture]  # d(w/(1 - w))/dw
    else:
        moisture = tuple(float(wet_from_dry(x)) for x in pairs.moisture_db)
        stretch = [(1.0 - y) ** 2 for y in moisture]  # d(X/(1 + X))/dX
    u = tuple(one * factor for one, factor in zip(pairs.u_moisture, stretch, strict=True))
    return replace(pairs, moisture_db=moisture, u_moisture=u)
