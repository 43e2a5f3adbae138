"""The forms of supplier lots: the limits of a material, a lot with its certificate, the decision."""

from __future__ import annotations

from django.urls import reverse

from isohume.outlets.site.config.keys import read_key
from isohume.outlets.site.incoming.actions.decide_supplier_lot import DecideSupplierLot
from isohume.outlets.site.incoming.actions.receive_supplier_lot import ReceiveSupplierLot
from isohume.outlets.site.incoming.actions.set_material_limits import SetMaterialLimits
from isohume.outlets.site.incoming.models import SupplierLot, SupplierMaterial
from isohume.outlets.site.incoming.models.suppliers import BASIS_WORDS, NOT_STATED
from isohume.outlets.site.incoming.queries import materials_in_force
from isohume.outlets.site.people.models import Site
from isohume.outlets.site.register.views.act import ActForm, Ask

LIMITS = ("supplier", "material", "source", "moisture_max", "moisture_basis", "a_w_max", "temperature_c")
CERTIFICATE = (
    "certificate", "certificate_moisture", "certificate_basis", "certificate_u_moisture", "certificate_a_w",
    "certificate_u_a_w", "certificate_temperature_c",
)  # fmt: skip
U_HINT = "Empty where none is given; none is invented."


def limits(site: Site, last: SupplierMaterial | None = None) -> ActForm:
    """A material's limits; of one that is known the fields start with what is in force."""
    start = {name: getattr(last, name) if last else "" for name in LIMITS}
    return ActForm(
        question="What may a supplier's material be?",
        says=f"Set limits of {last}" if last else "Set limits of a supplier's material",
        button="Set limits",
        back=last.get_absolute_url() if last else reverse("incoming"),
        back_text=str(last) if last else "Supplier lots",
        asks=[
            Ask("supplier", "Supplier", start=start["supplier"], required=True),
            Ask("material", "Material", start=start["material"], required=True),
            Ask("moisture_max", "Moisture at most", start=start["moisture_max"], unit="%", decimal=True),
            Ask("moisture_basis", "Basis of that limit", "select", start["moisture_basis"], options=BASIS_WORDS),
            Ask("a_w_max", "a_w at most", start=start["a_w_max"], mask="a_w"),
            Ask("temperature_c", "The a_w limit holds at", start=start["temperature_c"], unit="degC", decimal=True),
            Ask("source", "Where the limits come from", start=start["source"], required=True),
        ],
        make=lambda f: SetMaterialLimits(site, **{name: f.get(name, "") for name in LIMITS}),
        after=lambda kept: kept.get_absolute_url(),
        note="A new version; lots that came keep the one they came under.",
        advice=("A limit of 7.5 % without its basis is no limit: 7.5 % wet basis is 8.1 % dry basis.",),
    )


def receive(site: Site, known: str = "") -> ActForm:
    """A lot with its certificate."""
    materials = [(str(one.pk), str(one)) for one in materials_in_force(site)]
    bases = (*BASIS_WORDS, (NOT_STATED, "the certificate does not say"))
    return ActForm(
        question="What came, and what does its certificate say?",
        says="Receive a supplier's lot",
        button="Receive lot",
        back=reverse("incoming"),
        back_text="Supplier lots",
        asks=[
            Ask("material", "Material", "select", known, options=materials, required=True, blank="choose"),
            Ask("code", "Lot, as the supplier prints it", required=True),
            Ask("certificate", "Certificate, its number or date"),
            Ask("certificate_moisture", "Moisture on the certificate", unit="%", decimal=True),
            Ask("certificate_basis", "Its basis", "select", options=bases, blank="choose: a bare number has none"),
            Ask("certificate_u_moisture", "Its standard uncertainty u", hint=U_HINT, unit="%", decimal=True),
            Ask("certificate_a_w", "a_w on the certificate", mask="a_w"),
            Ask("certificate_u_a_w", "Standard uncertainty u of that a_w", hint=U_HINT, decimal=True),
            Ask("certificate_temperature_c", "Temperature of that a_w", unit="degC", decimal=True),
            Ask("received_at", "Received", "moment", hint="Empty is now."),
        ],
        make=lambda f: ReceiveSupplierLot(
            site,
            material_typed(site, f.get("material", "")),
            f.get("code", ""),
            **{name: f.get(name, "") for name in CERTIFICATE},
            received_at=f.get("received_at", ""),
        ),
        after=lambda kept: kept.get_absolute_url(),
        advice=(
            "U = 0.2 % with k = 2 is u = 0.1 %.",
            "8.0 % wet basis is 8.70 % dry basis; 8.0 % dry basis is 7.41 % wet basis.",
        ),
    )


def decide(lot: SupplierLot, decision: str) -> ActForm:
    """Accept, hold or reject."""
    words = {"accept": "Accept", "hold": "Hold", "reject": "Reject"}
    return ActForm(
        question="May this lot be used?",
        says=f"{words[decision]} {lot}",
        button=f"{words[decision]} lot",
        back=lot.get_absolute_url(),
        back_text=lot.code,
        asks=[Ask("reason", "Why", required=True)],
        make=lambda f: DecideSupplierLot(lot, decision, f.get("reason", "")),
        after=lambda kept: kept.get_absolute_url(),
        danger=decision == "reject",
        note="It decides the material only; nothing that is made of it is released by it.",
    )


def material_typed(site: Site, typed: str) -> SupplierMaterial | None:
    """The material of a form, in its version in force."""
    found = SupplierMaterial.objects.filter(site=site, pk=read_key(typed)).first()
    if found is None:
        return None
    return SupplierMaterial.objects.filter(site=site, key=found.key).order_by("version").last()
