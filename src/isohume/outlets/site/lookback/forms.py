"""The forms about where a lot is: retained units, shipments, whom was told."""

from __future__ import annotations

from django.urls import reverse

from isohume.outlets.site.bench.models import Lot
from isohume.outlets.site.lookback.actions.keep_retain import KeepRetain
from isohume.outlets.site.lookback.actions.note_told import NoteTold
from isohume.outlets.site.lookback.actions.record_shipment import RecordShipment
from isohume.outlets.site.lookback.actions.use_retain import UseRetain
from isohume.outlets.site.lookback.models import Retain, Shipment
from isohume.outlets.site.register.views.act import ActForm, Ask


def _back(lot: Lot) -> str:
    return reverse("whereabouts", args=[lot.pk])


def keep_retain(lot: Lot) -> ActForm:
    """Units put aside."""
    return ActForm(
        question=f"What of lot {lot.code} is kept?",
        says="Put retained units aside",
        button="Put retained units aside",
        back=_back(lot),
        back_text=f"Where lot {lot.code} is",
        asks=[
            Ask(
                "units", "Units", required=True, decimal=True, hint="Packs, bags or jars, as they are sold or sampled."
            ),
            Ask("place", "Where", required=True),
            Ask("keep_until", "Keep until", "date", required=True),
        ],
        make=lambda f: KeepRetain(lot, f.get("units", ""), f.get("place", ""), f.get("keep_until", "")),
        after=lambda made: _back(made.lot),
        advice=("A lot at risk is tested again from its retained units first: the lot itself stays closed.",),
    )


def use_retain(retain: Retain) -> ActForm:
    """Units used up."""
    lot = retain.lot
    return ActForm(
        question=f"What became of the retained units of lot {lot.code}?",
        says=f"{retain.left} of {retain.units} are left at {retain.place}",
        button="Use retained units",
        back=_back(lot),
        back_text=f"Where lot {lot.code} is",
        asks=[
            Ask("units", "Units used", required=True, decimal=True),
            Ask("what_for", "What for", required=True, hint="A retest, a complaint, thrown away."),
        ],
        make=lambda f: UseRetain(retain, f.get("units", ""), f.get("what_for", "")),
        after=lambda made: _back(made.retain.lot),
    )


def record_shipment(lot: Lot) -> ActForm:
    """What left the house."""
    return ActForm(
        question=f"What of lot {lot.code} left the house?",
        says="Record a shipment",
        button="Record shipment",
        back=_back(lot),
        back_text=f"Where lot {lot.code} is",
        asks=[
            Ask("consignee", "To whom", required=True),
            Ask("contact", "Whom to tell there", hint="Name and telephone: asked for when a check fails."),
            Ask("quantity", "How much", required=True, hint="With its unit: 40 cases."),
            Ask("shipped_on", "Shipped on", "date", required=True),
        ],
        make=lambda f: RecordShipment(
            lot, f.get("consignee", ""), f.get("contact", ""), f.get("quantity", ""), f.get("shipped_on", "")
        ),
        after=lambda made: _back(made.lot),
        note="" if lot.state == "released" else f"Lot {lot.code} is {lot.state}: what left is recorded all the same.",
        advice=("What left the house cannot be held here. Local codes say when the regulator is to be told.",),
    )


def note_told(shipment: Shipment) -> ActForm:
    """Somebody was told."""
    lot = shipment.lot
    return ActForm(
        question=f"Who was told about {shipment.quantity} of lot {lot.code}?",
        says=f"Tell {shipment.consignee}",
        button="Note that they were told",
        back=_back(lot),
        back_text=f"Where lot {lot.code} is",
        asks=[Ask("words", "What was said, and to whom", required=True)],
        make=lambda f: NoteTold(shipment, f.get("words", "")),
        after=lambda made: _back(made.shipment.lot),
        note=f"Whom to tell: {shipment.contact}" if shipment.contact else "",
        advice=("isohume tells nobody by itself: a person does, and notes it here.",),
    )
