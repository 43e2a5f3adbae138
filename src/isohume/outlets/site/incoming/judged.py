"""A supplier's lot as its page judges it: each quantity of ours against the certificate and against the limit."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from isohume.bench.decision.supplier_lot import (
    AgainstLimit,
    Basis,
    Compared,
    Stated,
    against_limit,
    basis_hint,
    compare,
    compare_a_w,
    on_basis,
)
from isohume.outlets.site.incoming.figures import a_w_words, as_basis, both_bases, of_a_w, of_percent, percent
from isohume.outlets.site.incoming.models import SupplierDetermination, SupplierLot
from isohume.outlets.site.incoming.models.suppliers import NOT_STATED
from isohume.outlets.site.lots.companion_numbers import moisture_of
from isohume.outlets.site.lots.models import MoistureDetermination

SAME_C = 0.5  # a_w of two temperatures is not compared (common practice, no source)
S_R = 0.0020  # of a_w where the method names none: only for the critical difference, where it hardly counts
SHAPES = {"agrees": "pass", "questionable": "hold", "differs": "fail", "not judged": "unknown"}
LIMIT_SHAPES = {"inside the limit": "pass", "inside, not beyond doubt": "hold", "beyond the limit": "fail"}
How = dict[str, Any]


@dataclass(frozen=True, slots=True)
class Quantity:
    """Moisture or a_w of a lot: what each side says, how they compare, where ours stands against the limit."""

    name: str
    ours: str
    theirs: str
    compared: Compared | None
    limit: str
    inside: AgainstLimit | None  # ours
    theirs_inside: AgainstLimit | None
    reasons: tuple[str, ...]
    difference: str
    how: How

    @property
    def words(self) -> str:
        """How ours compares with the certificate."""
        return self.compared.words if self.compared else "not compared"

    @property
    def shape(self) -> str:
        """The shape of that word."""
        return SHAPES.get(self.words, "unknown")

    @property
    def limit_shape(self) -> str:
        """The shape of where ours stands against the limit."""
        return LIMIT_SHAPES[self.inside.words] if self.inside else "unknown"


@dataclass(frozen=True, slots=True)
class Judged:
    """A lot judged by its last determination."""

    quantities: tuple[Quantity, ...]

    @property
    def beyond(self) -> tuple[str, ...]:
        """What of ours lies beyond its limit, in words."""
        return tuple(
            f"{one.name} {one.ours} is beyond the limit {one.limit}"
            for one in self.quantities
            if one.inside is not None and one.inside.beyond
        )

    @property
    def differing(self) -> tuple[str, ...]:
        """What differs from the certificate by more than both uncertainties explain."""
        return tuple(
            f"{one.name}: ours {one.ours}, certificate {one.theirs}"
            for one in self.quantities
            if one.words in ("differs", "questionable")
        )


def judged(lot: SupplierLot, found: SupplierDetermination | None) -> Judged:
    """The lot against its certificate and its limits, as one determination says."""
    if found is None:
        return Judged(())
    both = (_moisture(lot, found), _a_w(lot, found))
    return Judged(tuple(one for one in both if one is not None))


def our_moisture(found: SupplierDetermination) -> tuple[Stated, Basis] | None:
    """Our moisture on the basis it was stated on; None where none was found.

    Raises: InputError at the form's field for weights that make no sense.
    """
    if found.moisture:
        return of_percent(found.moisture, found.u_moisture), as_basis(found.basis)
    if not found.dishes:
        return None
    companion = moisture_of(weighed(found))
    if companion.value is None:
        return None  # the balance check failed: no moisture is stated
    return Stated(companion.value, companion.u), "wet"


def weighed(found: SupplierDetermination) -> MoistureDetermination:
    """Weights as the moisture of a lot reads them; it is not kept."""
    u = f"{float(found.u_moisture) / 100:g}" if found.u_moisture else ""
    return MoistureDetermination(
        basis="wet",
        method=found.method,
        dishes=found.dishes,
        check_nominal_g=found.check_nominal_g,
        check_read_g=found.check_read_g,
        check_limit_g=found.check_limit_g,
        u_wet_basis=u,
    )


def certificate_moisture(lot: SupplierLot) -> tuple[Stated, Basis | None] | None:
    """The certificate's moisture with its basis, None for a bare percentage."""
    if not lot.certificate_moisture:
        return None
    stated = of_percent(lot.certificate_moisture, lot.certificate_u_moisture)
    return stated, None if lot.certificate_basis == NOT_STATED else as_basis(lot.certificate_basis)


def certificate_words(lot: SupplierLot) -> str:
    """What a certificate says of moisture, on both bases where it names one."""
    found = certificate_moisture(lot)
    if found is None:
        return "not stated"
    stated, basis = found
    return f"{percent(stated)}, basis not stated" if basis is None else both_bases(stated, basis)


def _moisture(lot: SupplierLot, found: SupplierDetermination) -> Quantity | None:
    own = our_moisture(found)
    if own is None:
        return None
    ours, basis = own
    ours_wb, theirs = on_basis(ours, basis, "wet"), certificate_moisture(lot)
    compared, inside_theirs = None, None
    reasons: list[str] = []
    limit = _moisture_limit(lot)
    if theirs is not None and theirs[1] is not None:
        theirs_wb = on_basis(theirs[0], theirs[1], "wet")
        compared = compare(ours_wb, theirs_wb)
        reasons += compared.reasons
        if limit is not None:
            inside_theirs = against_limit(on_basis(theirs[0], theirs[1], limit[1]), limit[0].value)
    if theirs is not None and (hint := basis_hint(ours_wb, *theirs)):
        reasons.append(hint)
    inside = against_limit(on_basis(ours, basis, limit[1]), limit[0].value) if limit else None
    return Quantity(
        name="moisture",
        ours=both_bases(ours, basis),
        theirs=certificate_words(lot),
        compared=compared,
        limit=f"at most {lot.material.moisture_max} % {limit[1]} basis" if limit else "none",
        inside=inside,
        theirs_inside=inside_theirs,
        reasons=tuple(reasons),
        difference=f"{100 * compared.difference:+.2f} % wet basis" if compared else "",
        how=_how_moisture(ours, basis),
    )


def _moisture_limit(lot: SupplierLot) -> tuple[Stated, Basis] | None:
    text = lot.material.moisture_max
    return (of_percent(text, ""), as_basis(lot.material.moisture_basis)) if text else None


def _a_w(lot: SupplierLot, found: SupplierDetermination) -> Quantity | None:
    if not found.a_w:
        return None
    ours, material = of_a_w(found.a_w, found.u_a_w), lot.material
    compared, inside, inside_theirs = None, None, None
    reasons: list[str] = []
    if lot.certificate_a_w:
        theirs = of_a_w(lot.certificate_a_w, lot.certificate_u_a_w)
        if _same(found.temperature_c, lot.certificate_temperature_c):
            compared = compare_a_w(ours, theirs, S_R, found.portions)
            reasons += compared.reasons
        else:
            at = lot.certificate_temperature_c or "no temperature that is named"
            reasons.append(f"ours is at {found.temperature_c} °C, the certificate's at {at}: not compared")
        if material.a_w_max and _same(lot.certificate_temperature_c, material.temperature_c):
            inside_theirs = against_limit(theirs, float(material.a_w_max))
    if material.a_w_max:
        if _same(found.temperature_c, material.temperature_c):
            inside = against_limit(ours, float(material.a_w_max))
        else:
            reasons.append(f"the limit holds at {material.temperature_c} °C: ours is not judged by it")
    return Quantity(
        name="a_w",
        ours=f"{a_w_words(ours)} at {found.temperature_c} °C",
        theirs=_certificate_a_w(lot),
        compared=compared,
        limit=f"at most {material.a_w_max} at {material.temperature_c} °C" if material.a_w_max else "none",
        inside=inside,
        theirs_inside=inside_theirs,
        reasons=tuple(reasons),
        difference=f"{compared.difference:+.3f}" if compared else "",
        how=_how_a_w(found),
    )


def _certificate_a_w(lot: SupplierLot) -> str:
    if not lot.certificate_a_w:
        return "not stated"
    at = lot.certificate_temperature_c
    words = a_w_words(of_a_w(lot.certificate_a_w, lot.certificate_u_a_w))
    return f"{words} at {at} °C" if at else f"{words}, temperature not stated"


def _same(one: str, other: str) -> bool:
    return bool(one and other) and abs(float(one) - float(other)) <= SAME_C


def _how_moisture(ours: Stated, basis: Basis) -> How:
    return {
        "formula": "X = w/(1 - w), w = X/(1 + X); zeta = (ours - certificate)/sqrt(u² + u²), both on wet basis",
        "inputs": [("Ours", both_bases(ours, basis))],
        "range": "the same lot; portions of ours stand for it no further than they were drawn",
        "depends": "the basis the certificate names: 8.0 % dry basis is 7.41 % wet basis",
        "source": "ISO13528, 9.6; the conversion is the definition",
    }


def _how_a_w(found: SupplierDetermination) -> How:
    return {
        "formula": "zeta = (ours - certificate)/sqrt(u² + u²); without a u: CD = sqrt(R² - r²(1 - 1/(2n1) - 1/(2n2)))",
        "inputs": [("Ours", found.a_w), ("u of ours", found.u_a_w or "not given"), ("Portions", found.portions)],
        "range": f"both sides at one temperature, within {SAME_C:g} K",
        "depends": "the uncertainty of both sides; where one is missing, what laboratories differ by",
        "source": "ISO13528, 9.6; ISO5725-6, 5.3.2",
    }
