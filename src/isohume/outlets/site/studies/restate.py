"""What the page of a lot restated says: the decided value at another temperature, or why none. Never a verdict."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from isohume.desk.restating import BenchReading, Restated, restate
from isohume.foundation.metrology.conformity import probability_of_conformity
from isohume.foundation.quantity.errors import InputError, shown
from isohume.foundation.quantity.rounding import round_together
from isohume.foundation.quantity.typed import read_decimal, read_temperature_c
from isohume.outlets.site.bench.models import Lot
from isohume.outlets.site.lots.companion_numbers import moisture_of
from isohume.outlets.site.lots.how_words import how_of
from isohume.outlets.site.lots.models import LotRecord
from isohume.outlets.site.studies.as_read import AsRead, as_read
from isohume.outlets.site.studies.heats import Offer, offers_of, own_offers

FIELDS = ("to_c", "heat", "formula_version", "u_temperature_c")
START_U_C = "0.2"
NEVER = (
    "A restated value is information: it judges nothing and releases nothing. The lot's verdict stands on what was "
    "read, at the temperature it was read at."
)


@dataclass
class Page:
    """The page of a lot restated."""

    lot: Lot
    read: AsRead | None
    offers: list[Offer]
    asked: dict[str, str]
    reading: BenchReading | None = None
    found: Restated | None = None
    chosen: Offer | None = None
    reasons: list[str] = field(default_factory=list)
    errors: dict[str, str] = field(default_factory=dict)
    facts: list[tuple[Any, ...]] = field(default_factory=list)

    @property
    def record(self) -> LotRecord | None:
        """The record the value stands in, where the lot is judged."""
        return self.read.record if self.read else None

    @property
    def answer(self) -> str:
        """The answer in words."""
        if self.found is None or self.found.value is None:
            return "Nothing is restated"
        value, u = round_together(self.found.value, self.found.u, 3)
        return f"{value} (u {u})" if u else value


def page_of(lot: Lot, typed: Mapping[str, str]) -> Page:
    """The lot's value as decided or as read, restated as it is asked for; errors stand at their fields."""
    read, reasons = as_read(lot)
    offers = offers_of(lot.product)
    page = Page(lot, read, offers, _started(lot, offers, typed), reasons=reasons)
    page.chosen = next((one for one in offers if one.key == page.asked["heat"]), None)
    if read is None:
        return page
    try:
        _answer(page, read)
    except InputError as error:
        page.errors[error.field] = f"read {shown(error.value)}; allowed: {error.allowed}"
    return page


def _started(lot: Lot, offers: list[Offer], typed: Mapping[str, str]) -> dict[str, str]:
    first = next((one for one in offers if one.key == typed.get("heat")), offers[0] if offers else None)
    start = {
        "to_c": lot.specification.temperature_c,
        "heat": first.key if first else "",
        "formula_version": first.formula_version if first else "",
        "u_temperature_c": START_U_C,
    }
    return {name: typed.get(name, start[name]) for name in FIELDS}


def _answer(page: Page, read: AsRead) -> None:
    to_c = float(read_temperature_c(page.asked["to_c"], "to_c"))
    page.reading = BenchReading(
        read.a_w,
        read.u,
        read.at_c,
        _u_temperature(page.asked["u_temperature_c"]),
        moisture_db=_moisture(page.lot),
        product=page.lot.product.name,
        formula_version=page.asked["formula_version"].strip(),
    )
    if page.asked["heat"] and page.chosen is None:
        raise InputError("heat", page.asked["heat"], "one of the heats of this product")
    heat, against = page.chosen.find(page.reading, to_c) if page.chosen else (None, ())
    page.found = restate(page.reading, to_c, heat)
    page.reasons = list(against if against and page.found.refused else page.found.reasons)
    if page.chosen is None:
        page.reasons += own_offers(page.lot.product)[1]
    page.facts = _facts(page, page.found)


def _moisture(lot: Lot) -> float | None:
    """Moisture on dry basis found on the lot, where there is a sound one."""
    last = lot.moistures.order_by("pk").last()
    if last is None:
        return None
    last.basis = "dry"  # on dry basis, whatever basis it is stated on; not saved
    return moisture_of(last).value


def _u_temperature(text: str) -> float:
    allowed = "a standard uncertainty in degC, 0 to 5"
    number = read_decimal(text, "u_temperature_c", allowed, thousands_possible=False)
    if not 0 <= number <= 5:
        raise InputError("u_temperature_c", text, allowed)
    return float(number)


def _facts(page: Page, found: Restated) -> list[tuple[Any, ...]]:
    reading = found.reading
    facts: list[tuple[Any, ...]] = [(f"As read, at {reading.temperature_c:g} °C", _with_u(reading.a_w, reading.u))]
    facts.append(("From", page.read.words if page.read else ""))
    facts.append(("Probability of conformity, as read", _probability(page.lot, reading.a_w, reading.u)))
    if found.value is None:
        return facts
    how = how_of(found.how.as_json()) if found.how is not None else None
    facts.append((f"Restated, at {found.temperature_c:g} °C", _with_u(found.value, found.u), how))
    probability = _probability(page.lot, found.value, found.u)
    facts.append(("Probability of conformity, restated", probability, _how_probability(page.lot, found)))
    if found.shares:
        shares = "; ".join(f"{name} {share:.4f}" for name, share in sorted(found.shares.items(), key=lambda p: -p[1]))
        facts.append(("What makes its u", shares))
    return facts


def _with_u(value: float, u: float | None) -> str:
    said, said_u = round_together(value, u, 3)
    return f"{said} (u {said_u})" if said_u else f"{said}, u not known"


def _probability(lot: Lot, value: float, u: float | None) -> str:
    spec = lot.specification
    if not u:
        return "not stated: no u"
    lower, upper = (float(one) if one else None for one in (spec.lower, spec.upper))
    probability = float(probability_of_conformity(value, u, lower, upper))
    return "above 0.999" if probability > 0.999 else "below 0.001" if probability < 0.001 else f"{probability:.3f}"


def _how_probability(lot: Lot, found: Restated) -> dict[str, Any]:
    spec = lot.specification
    return {
        "formula": "p = Phi((upper - a)/u) - Phi((lower - a)/u)",
        "inputs": [("Limits", f"{spec.lower or 'none'} to {spec.upper or 'none'} at {spec.temperature_c} degC")],
        "range": "the portions that were read; sampling is not in it",
        "depends": "the heat and its uncertainty" if found.shares else "the reading",
        "source": "JCGM106, 7",
    }
