"""Record what was found here on a supplier's lot: moisture from weights or typed with its basis, a_w, or both."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Any

from isohume.foundation.quantity.errors import InputError
from isohume.foundation.quantity.typed import read_a_w, read_temperature_c, read_words
from isohume.outlets.site.bench.moments import event_time
from isohume.outlets.site.incoming.deviations import open_about
from isohume.outlets.site.incoming.figures import basis_typed, moisture_typed, short, u_typed
from isohume.outlets.site.incoming.judged import judged, our_moisture, weighed
from isohume.outlets.site.incoming.models import SupplierDetermination, SupplierLot
from isohume.outlets.site.ledger.actions import Action, By, Done, perform
from isohume.outlets.site.lots.actions.open_deviation import OpenDeviation
from isohume.outlets.site.lots.companion_numbers import WEIGHTS, moisture_of
from isohume.outlets.site.people.models import Site
from isohume.outlets.site.people.roles import BENCH
from isohume.outlets.site.register.actions.fields import read_whole

CHECK = ("check_nominal_g", "check_read_g", "check_limit_g")


@dataclass
class DetermineSupplierLot(Action[SupplierDetermination]):
    """Kept as typed beside earlier ones. A value beyond its limit puts the lot on hold and opens a deviation."""

    name = "supplier_lot_determined"
    said = "Recorded a determination on a supplier's lot"
    roles = BENCH

    lot: SupplierLot
    method: str = ""
    moisture: str = ""
    basis: str = ""
    u_moisture: str = ""
    dishes: list[dict[str, str]] = field(default_factory=list)
    balance: dict[str, str] = field(default_factory=dict)  # the fields of CHECK
    a_w: str = ""
    u_a_w: str = ""
    temperature_c: str = ""
    portions: str = "1"
    at: str = ""

    @property
    def site(self) -> Site:
        """The lot's plant."""
        return self.lot.site

    def refusals(self, by: By) -> Iterable[str]:
        """A lot that is accepted or rejected takes no further number."""
        self.lot.refresh_from_db(fields=["state"])
        if self.lot.state in ("accepted", "rejected"):
            yield f"Lot {self.lot.code} is {self.lot.state}: hold it first, with the reason."

    def change(self, by: By) -> Done[SupplierDetermination]:
        """Keep it, judge it, and stop the lot where it is out of limits."""
        method = read_words(self.method, "method", 120)
        if not method:
            raise InputError("method", "nothing", "how it was found, such as oven, 105 degC, 4 h; BM-12")
        found = SupplierDetermination(
            lot=self.lot,
            method=method,
            **self._moisture(),
            **self._a_w(),
            at=event_time(self.at, "at", self.site, by.at),
            by=by.person,
        )
        if not found.moisture and not found.dishes and not found.a_w:
            raise InputError("moisture", "nothing", "a moisture, weights, or a_w")
        says = self._says(found)
        found.save()
        beyond = judged(self.lot, found).beyond
        before = self.lot.state
        if beyond:
            self._stop(beyond, by)
        details: dict[str, Any] = {"method": method, "moisture": found.moisture, "basis": found.basis}
        details |= {"u_moisture": found.u_moisture, "dishes": found.dishes, "says": says}
        details |= {"a_w": found.a_w, "u_a_w": found.u_a_w, "temperature_c": found.temperature_c}
        details |= {"portions": str(found.portions)}
        if self.lot.state != before:
            details["state"] = [before, self.lot.state]
        kept = {name: value for name, value in details.items() if value}
        return Done(found, found.ref, [self.lot.ref], kept)

    def _stop(self, beyond: tuple[str, ...], by: By) -> None:
        self.lot.state = "on hold"
        self.lot.save(update_fields=["state"])
        if not open_about(self.lot).exists():
            what = f"Supplier's lot {self.lot}: {'; '.join(beyond)}"[:500]
            perform(OpenDeviation(self.site, "supplier lot", what, about=self.lot.ref), by)

    def _moisture(self) -> dict[str, Any]:
        dishes = [dish for dish in self.dishes if any(dish.get(name, "").strip() for name in WEIGHTS)]
        if dishes and self.moisture.strip():
            raise InputError("moisture", self.moisture, "nothing where weights are given: they give the moisture")
        u = u_typed(self.u_moisture, "u_moisture")
        if dishes:
            typed = [{name: read_words(dish.get(name, ""), name, 16) for name in WEIGHTS} for dish in dishes]
            check = {name: read_words(self.balance.get(name, ""), name, 16) for name in CHECK}
            return {"dishes": typed, "basis": "wet", "u_moisture": u, **check}
        if not self.moisture.strip():
            return {}
        basis = basis_typed(self.basis, "basis")
        return {"moisture": moisture_typed(self.moisture, "moisture", basis), "basis": basis, "u_moisture": u}

    def _a_w(self) -> dict[str, Any]:
        if not self.a_w.strip():
            return {}
        return {
            "a_w": short(f"{read_a_w(self.a_w):f}", "a_w"),
            "u_a_w": u_typed(self.u_a_w, "u_a_w", a_w=True),
            "temperature_c": f"{read_temperature_c(self.temperature_c):f}",
            "portions": read_whole(self.portions or "1", "portions", 1, 20, "portions"),
        }

    def _says(self, found: SupplierDetermination) -> str:
        """What weights give, or why they give nothing; asked before anything is saved."""
        if not found.dishes:
            return ""
        companion = moisture_of(weighed(found))
        our_moisture(found)
        return companion.text
