"""The heats by which a lot of a product may be restated: of its own kept isotherms, and of a cited source."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from isohume.desk.heat_from_curves import CurveSet, KeptCurve, heat_from_curves
from isohume.desk.heat_of_sorption import HeatOfSorption
from isohume.desk.restating import BenchReading
from isohume.foundation.quantity.errors import InputError, RangeError
from isohume.outlets.site.register.models import Product
from isohume.outlets.site.studies.answers import Saved
from isohume.outlets.site.studies.models import Isotherm, KeptHeat
from isohume.outlets.site.studies.queries import in_force

OWN, CITED = "own isotherms", "cited"
Found = tuple[HeatOfSorption | None, tuple[str, ...]]


@dataclass(frozen=True, slots=True)
class Offer:
    """A heat that may be chosen: its key in the form, what it is, its recipe, and how it is found for a reading."""

    key: str
    words: str
    formula_version: str
    find: Callable[[BenchReading, float], Found]
    kept: KeptHeat | None = None
    isotherms: tuple[Isotherm, ...] = ()


def offers_of(product: Product) -> list[Offer]:
    """What may be chosen, the product's own isotherms before a source outside."""
    own, _ = own_offers(product)
    last = last_heat(product)
    return [*own, *([_cited(last)] if last else [])]


def last_heat(product: Product) -> KeptHeat | None:
    """The cited heat in force: the last one kept."""
    return product.kept_heats.select_related("by").order_by("-version").first()


def own_offers(product: Product) -> tuple[list[Offer], list[str]]:
    """The directions whose isotherms stand at two temperatures or more, and why others give no heat."""
    offers, reasons = [], []
    kept = in_force(product)
    for direction in ("desorption", "adsorption"):
        several = tuple(one for one in kept if one.direction == direction)
        if len(several) >= 2:
            offers.append(_own(product, direction, several))
        elif several:
            reasons.append(
                f"The {direction} isotherm is kept at {several[0].temperature_c} degC only: a heat of one's own needs "
                "a second temperature."
            )
    if not kept:
        reasons.append("No isotherm of the product is kept.")
    return offers, reasons


def _own(product: Product, direction: str, several: tuple[Isotherm, ...]) -> Offer:
    versions = ", ".join(f"version {one.version} at {one.temperature_c} degC" for one in several)
    formula = several[0].formula_version

    def find(reading: BenchReading, to_c: float) -> Found:
        # content is deferred where isotherms are listed; it is read here, for the one that was chosen
        curves = tuple(_curve(one) for one in several)
        source = f"isotherms of {product.name}, recipe {formula}: {versions}"
        given = CurveSet(curves, product.name, formula, direction, source)
        try:
            return heat_from_curves(given, reading.a_w, reading.temperature_c, to_c, reading.u or 0.0), ()
        except (RangeError, InputError) as beyond:
            return None, (f"The product's isotherms say nothing here: {beyond}",)

    words = f"its own {direction} isotherms at {' and '.join(one.temperature_c for one in several)} degC"
    return Offer(f"own-{direction}", words, formula, find, isotherms=several)


def _curve(isotherm: Isotherm) -> KeptCurve:
    saved = Saved.of(isotherm.content)

    def a_w_at(moisture_db: float) -> float:
        found = saved.moisture.where(moisture_db)
        if found is None:  # the common range was asked for first; its ends may miss by a last digit
            found = saved.moisture.ends[0 if moisture_db <= saved.moisture.y[0] else 1]
        return found

    return KeptCurve(
        temperature_c=float(isotherm.temperature_c),
        a_w=saved.moisture.ends,
        moisture_db=(saved.moisture.y[0], saved.moisture.y[-1]),
        moisture_at=saved.moisture.at,
        a_w_at=a_w_at,
        slope_at=saved.slope.at,
        u_moisture_at=saved.u.at,
        dof=float(saved.dof),
    )


def _cited(kept: KeptHeat) -> Offer:
    heat = as_heat(kept)
    words = f"{kept.value_kj_mol} kJ/mol (u {kept.u_kj_mol}) of {kept.source}, version {kept.version}"
    return Offer(f"cited-{kept.pk}", words, kept.formula_version, lambda reading, to_c: (heat, ()), kept)


def as_heat(kept: KeptHeat) -> HeatOfSorption:
    """A kept heat as the desk reads it."""
    a_w = (float(kept.low_a_w), float(kept.high_a_w)) if kept.low_a_w else None
    moisture = (float(kept.low_moisture) / 100, float(kept.high_moisture) / 100) if kept.low_moisture else None
    return HeatOfSorption(
        float(kept.value_kj_mol),
        float(kept.u_kj_mol),
        (float(kept.low_c), float(kept.high_c)),
        kept.source,
        moisture_db=moisture,
        a_w=a_w,
        product=kept.product.name,
        formula_version=kept.formula_version,
    )
