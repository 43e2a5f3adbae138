"""Figures of certificates and of our determinations: read at their fields, never without their basis."""

from __future__ import annotations

from decimal import Decimal

from isohume.bench.decision.supplier_lot import BASES, Basis, Stated, on_basis
from isohume.foundation.quantity.errors import InputError
from isohume.foundation.quantity.rounding import round_together
from isohume.foundation.quantity.typed import read_decimal

SMALLEST_U_PERCENT, LARGEST_U_PERCENT = Decimal("0.001"), Decimal(10)
SMALLEST_U_A_W, LARGEST_U_A_W = Decimal("0.0001"), Decimal("0.1")


def moisture_typed(text: str, field: str, basis: str) -> str:
    """A moisture in percent of its basis, its digits kept; blank stays blank. 8 without a basis is refused.

    basis: wet, dry, or "not stated" for a certificate that names none.
    """
    if not text.strip():
        return ""
    most = 1000 if basis == "dry" else 100
    allowed = f"g per 100 g, greater than 0 and below {most}"
    number = read_decimal(text, field, allowed, thousands_possible=False)
    if not 0 < number < most:
        raise InputError(field, text, allowed)
    return short(f"{number:f}", field)


def u_typed(text: str, field: str, a_w: bool = False) -> str:
    """A standard uncertainty in percent or in a_w; blank stays blank: none is invented."""
    if not text.strip():
        return ""
    low, high = (SMALLEST_U_A_W, LARGEST_U_A_W) if a_w else (SMALLEST_U_PERCENT, LARGEST_U_PERCENT)
    allowed = f"a standard uncertainty u{'' if a_w else ' in percent'}, {low} to {high}, or nothing where none is given"
    number = read_decimal(text, field, allowed, thousands_possible=False)
    if not low <= number <= high:
        raise InputError(field, text, allowed)
    return short(f"{number:f}", field)


def short(text: str, field: str, most: int = 16) -> str:
    """A number's digits, not more than a field holds."""
    if len(text) > most:
        raise InputError(field, text, f"at most {most} characters")
    return text


def basis_typed(text: str, field: str, more: tuple[str, ...] = ()) -> str:
    """A basis; never left out beside a percentage."""
    if text not in (*BASES, *more):
        raise InputError(field, text or "nothing", "wet basis or dry basis; a bare percentage has no meaning")
    return text


def of_percent(text: str, u: str) -> Stated:
    """A percentage as typed, as a fraction with its uncertainty."""
    return Stated(float(Decimal(text) / 100), float(Decimal(u) / 100) if u else None)


def of_a_w(text: str, u: str) -> Stated:
    """A water activity as typed, with its uncertainty."""
    return Stated(float(text), float(u) if u else None)


def as_basis(text: str) -> Basis:
    """A stored basis by its type."""
    return "wet" if text == "wet" else "dry"


def percent(stated: Stated) -> str:
    """A moisture in percent, rounded with its uncertainty: 7.41 % (u 0.10)."""
    shown, u = round_together(100 * stated.value, None if stated.u is None else 100 * stated.u, 2)
    return f"{shown} % (u {u})" if u else f"{shown} %"


def both_bases(stated: Stated, basis: Basis) -> str:
    """A moisture on the basis it is stated on, and on the other: 8.00 % wet basis = 8.70 % dry basis."""
    other: Basis = "dry" if basis == "wet" else "wet"
    return f"{percent(stated)} {basis} basis = {percent(on_basis(stated, basis, other))} {other} basis"


def a_w_words(stated: Stated) -> str:
    """A water activity, rounded with its uncertainty."""
    shown, u = round_together(stated.value, stated.u, 3)
    return f"{shown} (u {u})" if u else shown
