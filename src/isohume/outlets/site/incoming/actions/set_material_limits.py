"""Set the limits of a supplier's material: a new version; lots that came keep the one they came under."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from isohume.foundation.quantity.errors import InputError
from isohume.foundation.quantity.typed import read_a_w, read_decimal, read_temperature_c
from isohume.outlets.site.incoming.figures import basis_typed, short
from isohume.outlets.site.incoming.models import SupplierMaterial
from isohume.outlets.site.ledger.actions import Action, By, Done
from isohume.outlets.site.people.models import Site
from isohume.outlets.site.people.roles import DEVELOPER, MANAGER
from isohume.outlets.site.register.actions.fields import needed_words


@dataclass
class SetMaterialLimits(Action[SupplierMaterial]):
    """Supplier and material in words; limits on a named basis, at a named temperature, with their source."""

    name = "material_limits_set"
    said = "Set the limits of a supplier's material"
    roles = frozenset({MANAGER, DEVELOPER})

    at_site: Site
    supplier: str
    material: str
    source: str = ""
    moisture_max: str = ""
    moisture_basis: str = ""
    a_w_max: str = ""
    temperature_c: str = ""

    @property
    def site(self) -> Site:
        """The plant that buys it."""
        return self.at_site

    def change(self, by: By) -> Done[SupplierMaterial]:
        """The next version of this material of this supplier, the first one where there is none."""
        supplier = needed_words(self.supplier, "supplier", 80, "who supplies it, in words")
        material = needed_words(self.material, "material", 80, "what it is, such as onion powder")
        moisture, basis = self._moisture()
        a_w, temperature = self._a_w()
        if not moisture and not a_w:
            raise InputError("moisture_max", "nothing", "a limit of moisture, of a_w, or of both")
        source = needed_words(self.source, "source", 300, "where the limits come from, such as specification 4.2")
        key = f"{supplier.casefold()} | {material.casefold()}"
        last = SupplierMaterial.objects.filter(site=self.at_site, key=key).order_by("-version").first()
        kept = SupplierMaterial.objects.create(
            site=self.at_site,
            supplier=last.supplier if last else supplier,
            material=last.material if last else material,
            key=key,
            version=last.version + 1 if last else 1,
            moisture_max=moisture,
            moisture_basis=basis,
            a_w_max=a_w,
            temperature_c=temperature,
            source=source,
            since=by.at,
            by=by.person,
        )
        details = {
            "supplier": kept.supplier,
            "material": kept.material,
            "version": str(kept.version),
            "moisture_max": moisture,
            "moisture_basis": basis,
            "a_w_max": a_w,
            "temperature_c": temperature,
            "source": source,
        }
        said = {name: value for name, value in details.items() if value}
        return Done(kept, kept.ref, [last.ref] if last else [], said)

    def _moisture(self) -> tuple[str, str]:
        if not self.moisture_max.strip():
            return "", ""
        allowed = "g per 100 g, greater than 0 and below 100"
        number = read_decimal(self.moisture_max, "moisture_max", allowed, thousands_possible=False)
        if not 0 < number < Decimal(100):
            raise InputError("moisture_max", self.moisture_max, allowed)
        return short(f"{number:f}", "moisture_max"), basis_typed(self.moisture_basis, "moisture_basis")

    def _a_w(self) -> tuple[str, str]:
        if not self.a_w_max.strip():
            return "", ""
        a_w = short(f"{read_a_w(self.a_w_max, 'a_w_max'):f}", "a_w_max")
        if not self.temperature_c.strip():
            raise InputError("temperature_c", "nothing", "the temperature the a_w limit holds at, such as 25")
        return a_w, f"{read_temperature_c(self.temperature_c):f}"
