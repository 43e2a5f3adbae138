"""A plant that buys: a manager, an analyst, a release officer, a developer, a product, an instrument."""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import pytest
from django.test import Client
from tests.outlets.site import make
from tests.outlets.site.make import NOW

from isohume.outlets.site.incoming.actions.decide_supplier_lot import DecideSupplierLot
from isohume.outlets.site.incoming.actions.determine_supplier_lot import DetermineSupplierLot
from isohume.outlets.site.incoming.actions.receive_supplier_lot import ReceiveSupplierLot
from isohume.outlets.site.incoming.actions.set_material_limits import SetMaterialLimits
from isohume.outlets.site.incoming.models import SupplierDetermination, SupplierLot, SupplierMaterial
from isohume.outlets.site.ledger.actions import By, perform
from isohume.outlets.site.people.models import Person, Site
from isohume.outlets.site.people.roles import ANALYST, DEVELOPER, MANAGER, RELEASE_OFFICER
from isohume.outlets.site.register.models import Instrument, Product

BACKEND = "django.contrib.auth.backends.ModelBackend"


@dataclass
class Plant:
    """Cardamom Quay Blends, as far as it buys."""

    site: Site
    product: Product
    instrument: Instrument
    people: dict[str, Person] = field(default_factory=dict)

    def by(self, who: str = "boss") -> By:
        """Who acts."""
        return By(self.people[who], NOW)

    def client(self, who: str = "boss") -> Client:
        """Their browser."""
        client = Client()
        client.force_login(self.people[who], BACKEND)
        return client

    def material(self, **more: Any) -> SupplierMaterial:
        """Onion powder, at most 7.5 % wet basis."""
        given = {"moisture_max": "7.5", "moisture_basis": "wet", "source": "Purchase specification OP-3", **more}
        return perform(SetMaterialLimits(self.site, "Quayside Growers", "Onion powder", **given), self.by())

    def lot(self, material: SupplierMaterial | None = None, code: str = "OP-118", **more: Any) -> SupplierLot:
        """A lot whose certificate says 8.0 % dry basis."""
        given = {"certificate_moisture": "8.0", "certificate_basis": "dry", "certificate_u_moisture": "0.10", **more}
        return perform(ReceiveSupplierLot(self.site, material or self.material(), code, **given), self.by("hand"))

    def found(self, lot: SupplierLot, **more: Any) -> SupplierDetermination:
        """Our determination."""
        given = {"method": "Oven, 70 degC under vacuum", "moisture": "7.40", "basis": "wet", "u_moisture": "0.08"}
        return perform(DetermineSupplierLot(lot, **{**given, **more}), self.by("hand"))

    def decide(self, lot: SupplierLot, decision: str, reason: str = "Compared with the certificate") -> SupplierLot:
        """The decision."""
        return perform(DecideSupplierLot(lot, decision, reason), self.by("officer"))


@pytest.fixture
def plant(site_db: Path) -> Plant:
    """The plant."""
    site = make.make_site(name="Cardamom Quay Blends")
    method = make.make_method(site)
    roles = (("boss", MANAGER), ("hand", ANALYST), ("officer", RELEASE_OFFICER), ("dev", DEVELOPER))
    people = {name: make.make_person(site, role, username=name) for name, role in roles}
    return Plant(site, make.make_product(method), make.make_instrument(site), people)
