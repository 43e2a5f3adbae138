"""Receive a supplier's lot with what its certificate states, digits and basis as printed."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from isohume.foundation.quantity.errors import InputError
from isohume.foundation.quantity.typed import read_a_w, read_temperature_c, read_words
from isohume.outlets.site.bench.moments import event_time
from isohume.outlets.site.incoming.figures import basis_typed, moisture_typed, short, u_typed
from isohume.outlets.site.incoming.models import SupplierLot, SupplierMaterial
from isohume.outlets.site.incoming.models.suppliers import NOT_STATED
from isohume.outlets.site.ledger.actions import Action, By, Done
from isohume.outlets.site.people.models import Site
from isohume.outlets.site.people.roles import BENCH
from isohume.outlets.site.register.actions.fields import needed_code


@dataclass
class ReceiveSupplierLot(Action[SupplierLot]):
    """The certificate may be silent on any figure, never on the basis of a percentage it gives: then it says so."""

    name = "supplier_lot_received"
    said = "Received a supplier's lot"
    roles = BENCH

    at_site: Site
    material: SupplierMaterial | None
    code: str
    certificate: str = ""
    certificate_moisture: str = ""
    certificate_basis: str = ""
    certificate_u_moisture: str = ""
    certificate_a_w: str = ""
    certificate_u_a_w: str = ""
    certificate_temperature_c: str = ""
    received_at: str = ""

    @property
    def site(self) -> Site:
        """The plant it came to."""
        return self.at_site

    def refusals(self, by: By) -> list[str]:
        """The material is the plant's own."""
        if self.material is not None and self.material.site_id != self.at_site.pk:
            return ["This material belongs to another plant."]
        return []

    def change(self, by: By) -> Done[SupplierLot]:
        """Keep it; it waits for our determination."""
        if self.material is None:
            raise InputError("material", "nothing", "a material with its limits")
        code = needed_code(self.code, "code", 60, "the lot's code as the supplier prints it")
        key = f"{self.material.key} | {code.casefold()}"
        if SupplierLot.objects.filter(site=self.at_site, key=key).exists():
            raise InputError("code", code, f"a code that no lot of {self.material} has yet")
        stated = {**self._moisture(), **self._a_w()}
        lot = SupplierLot.objects.create(
            site=self.at_site,
            material=self.material,
            code=code,
            key=key,
            certificate=read_words(self.certificate, "certificate", 120),
            **stated,
            received_at=event_time(self.received_at, "received_at", self.at_site, by.at),
            entered_at=by.at,
            by=by.person,
        )
        details = {"code": code, "material": str(self.material), "certificate": lot.certificate, **stated}
        return Done(lot, lot.ref, [self.material.ref], {name: value for name, value in details.items() if value})

    def _moisture(self) -> dict[str, Any]:
        if not self.certificate_moisture.strip():
            return {}
        basis = basis_typed(self.certificate_basis, "certificate_basis", (NOT_STATED,))
        moisture = moisture_typed(self.certificate_moisture, "certificate_moisture", basis)
        u = u_typed(self.certificate_u_moisture, "certificate_u_moisture")
        return {"certificate_moisture": moisture, "certificate_basis": basis, "certificate_u_moisture": u}

    def _a_w(self) -> dict[str, Any]:
        if not self.certificate_a_w.strip():
            return {}
        at = self.certificate_temperature_c
        return {
            "certificate_a_w": short(f"{read_a_w(self.certificate_a_w, 'certificate_a_w'):f}", "certificate_a_w"),
            "certificate_u_a_w": u_typed(self.certificate_u_a_w, "certificate_u_a_w", a_w=True),
            "certificate_temperature_c": f"{read_temperature_c(at, 'certificate_temperature_c'):f}"
            if at.strip()
            else "",
        }
