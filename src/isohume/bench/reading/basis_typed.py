"""A moisture typed on the wrong basis, told by what the material's earlier lots held."""

from __future__ import annotations

from typing import Literal

from isohume.bench.reading.plausible import LEAST_LOTS, Z_LIMIT, History
from isohume.foundation.quantity.errors import InputError
from isohume.foundation.quantity.moisture import dry_from_wet, wet_from_dry

S_FLOOR_WB = 0.0010
"""No history of moisture scatters less than an oven can tell (common practice, no source) [g/g]."""


def basis_slip(moisture: float, basis: Literal["wet", "dry"], history_wb: History | None) -> str:
    """Whether a moisture is unusual as it was typed, and usual once it is read on the other basis.

        z = (w - centre)/max(s, 0.0010), w on wet basis: beyond 4 as typed, within 4 on the other basis
    moisture: as typed [g/g], on its basis.
    basis: the basis it was typed on [text].
    history_wb: what earlier lots held, on wet basis [g/g]; fewer than 8 lots judge nothing.
    Returns: the hint [text], empty where there is nothing to look at. It refuses and changes nothing.
    Raises: InputError for a basis that is none; RangeError for a moisture outside its basis.
    Example: 8.0 % called wet where lots hold 7.40 % wet basis (s 0.05): on dry basis it would be 7.41 %.
    Source: none (z above 4 is the trade's practice).
    """
    if basis not in ("wet", "dry"):
        raise InputError("basis", basis, "wet or dry; a bare percentage has no meaning")
    if history_wb is None or history_wb.n < LEAST_LOTS:
        return ""
    as_wet, as_dry = moisture, float(wet_from_dry(moisture))
    typed, other = (as_wet, as_dry) if basis == "wet" else (as_dry, as_wet)
    if other >= 1.0 or abs(_z(typed, history_wb)) <= Z_LIMIT:
        return ""
    usual = (
        f"{100 * typed:.2f} % wet basis is not plausible: earlier lots held {100 * history_wb.centre:.2f} % wet basis "
        f"({100 * float(dry_from_wet(history_wb.centre)):.2f} % dry basis; {history_wb.n} lots)."
    )
    if abs(_z(other, history_wb)) > Z_LIMIT:
        return usual
    name = "dry" if basis == "wet" else "wet"
    return f"{usual} Read on {name} basis it would fit ({100 * other:.2f} % wet basis): look at the basis again."


def _z(moisture_wb: float, history: History) -> float:
    return (moisture_wb - history.centre) / max(history.s, S_FLOOR_WB)
