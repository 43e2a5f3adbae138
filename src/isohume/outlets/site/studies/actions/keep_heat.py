"""Keep a product's net heat of sorption from a cited source: value, u, where it was found, and why it is taken."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from isohume.desk.heat_of_sorption import below_zero
from isohume.foundation.quantity.errors import InputError
from isohume.foundation.quantity.typed import read_a_w, read_decimal, read_temperature_c
from isohume.outlets.site.ledger.actions import Action, By, Done
from isohume.outlets.site.people.models import Site
from isohume.outlets.site.people.roles import DEVELOPER, MANAGER
from isohume.outlets.site.register.actions.fields import needed_code, needed_words
from isohume.outlets.site.register.models import Product
from isohume.outlets.site.studies.models import KeptHeat

NUMBERS = (
    "value_kj_mol", "u_kj_mol", "low_c", "high_c", "low_a_w", "high_a_w", "low_moisture", "high_moisture",
)  # fmt: skip
MOST_KJ_MOL = Decimal(30)


@dataclass
class KeepHeat(Action[KeptHeat]):
    """A new version; there is no default heat, and none without its uncertainty, source and range."""

    name = "heat_kept"
    said = "Kept a heat of sorption for the product"
    roles = frozenset({DEVELOPER, MANAGER})

    product: Product
    value_kj_mol: str = ""
    u_kj_mol: str = ""
    low_c: str = ""
    high_c: str = ""
    low_a_w: str = ""
    high_a_w: str = ""
    low_moisture: str = ""
    high_moisture: str = ""
    formula_version: str = ""
    source: str = ""
    reason: str = ""

    @property
    def site(self) -> Site:
        """The product's plant."""
        return self.product.site

    def change(self, by: By) -> Done[KeptHeat]:
        """Keep it under the next version."""
        numbers = {**self._heat(), **self._temperatures(), **self._a_w(), **self._moisture()}
        if not numbers["low_a_w"] and not numbers["low_moisture"]:
            allowed = "the range of a_w, of moisture on dry basis, or of both, in which the heat was found"
            raise InputError("low_a_w", "nothing", allowed)
        formula = "the version of the recipe it is taken for, such as 7"
        last = self.product.kept_heats.order_by("-version").first()
        kept = KeptHeat.objects.create(
            product=self.product,
            version=last.version + 1 if last else 1,
            formula_version=needed_code(self.formula_version, "formula_version", 20, formula),
            **numbers,
            source=needed_words(self.source, "source", 300, "where the value is printed, with its table or page"),
            reason=needed_words(self.reason, "reason", 300, "why this heat speaks of this product"),
            since=by.at,
            by=by.person,
        )
        details = {name: value for name, value in numbers.items() if value}
        details |= {"version": str(kept.version), "formula_version": kept.formula_version, "source": kept.source}
        about = [self.product.ref, *([last.ref] if last else [])]
        return Done(kept, kept.ref, about, details, kept.reason)

    def _heat(self) -> dict[str, str]:
        allowed = f"a net heat in kJ/mol, -10 to {MOST_KJ_MOL}; with the heat of vaporisation in it, take that out (44)"
        value = _number(self.value_kj_mol, "value_kj_mol", Decimal(-10), MOST_KJ_MOL, allowed)
        u_allowed = "its standard uncertainty u in kJ/mol, 0.01 to 20: without one nothing is restated"
        u = _number(self.u_kj_mol, "u_kj_mol", Decimal("0.01"), Decimal(20), u_allowed)
        if below_zero(float(value), float(u)):
            bound = "a heat that does not lie below 0 by more than 2 u: water in food is not bound less than in itself"
            raise InputError(
                "value_kj_mol", self.value_kj_mol, f"{bound}. Where it is, take the product's own isotherms"
            )
        return {"value_kj_mol": value, "u_kj_mol": u}

    def _temperatures(self) -> dict[str, str]:
        low, high = (read_temperature_c(getattr(self, name), name) for name in ("low_c", "high_c"))
        if not low < high:
            raise InputError("high_c", self.high_c, f"a temperature above {low} degC")
        return {"low_c": f"{low:f}", "high_c": f"{high:f}"}

    def _a_w(self) -> dict[str, str]:
        if not self.low_a_w.strip() and not self.high_a_w.strip():
            return {"low_a_w": "", "high_a_w": ""}
        low, high = (read_a_w(getattr(self, name), name) for name in ("low_a_w", "high_a_w"))
        if not low < high:
            raise InputError("high_a_w", self.high_a_w, f"an a_w above {low}")
        return {"low_a_w": f"{low:f}", "high_a_w": f"{high:f}"}

    def _moisture(self) -> dict[str, str]:
        if not self.low_moisture.strip() and not self.high_moisture.strip():
            return {"low_moisture": "", "high_moisture": ""}
        allowed = "g per 100 g of solids (dry basis), 0 to 500"
        both = {
            name: _number(getattr(self, name), name, Decimal(0), Decimal(500), allowed)
            for name in ("low_moisture", "high_moisture")
        }
        if not Decimal(both["low_moisture"]) < Decimal(both["high_moisture"]):
            raise InputError("high_moisture", self.high_moisture, f"a moisture above {both['low_moisture']} %")
        return both


def _number(text: str, field: str, low: Decimal, high: Decimal, allowed: str) -> str:
    number = read_decimal(text, field, allowed, thousands_possible=False)
    if not low <= number <= high:
        raise InputError(field, text, allowed)
    typed = f"{number:f}"
    if len(typed) > 12:
        raise InputError(field, text, "at most 12 characters")
    return typed
