"""Decide a supplier's lot: accept it, hold it, or reject it, each with its reason."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from isohume.foundation.quantity.errors import InputError
from isohume.outlets.site.incoming.deviations import open_about
from isohume.outlets.site.incoming.judged import judged
from isohume.outlets.site.incoming.models import SupplierLot
from isohume.outlets.site.ledger.actions import Action, By, Done, Refused, perform
from isohume.outlets.site.lots.actions.open_deviation import OpenDeviation
from isohume.outlets.site.people.models import Site
from isohume.outlets.site.people.roles import REVIEWERS
from isohume.outlets.site.register.actions.fields import needed_words

STATES = {"accept": "accepted", "hold": "on hold", "reject": "rejected"}


@dataclass
class DecideSupplierLot(Action[SupplierLot]):
    """Accepting takes a determination of our own, and no open deviation; it releases no lot that is made of it."""

    name = "supplier_lot_decided"
    said = "Decided a supplier's lot"
    roles = REVIEWERS

    lot: SupplierLot
    decision: str = ""
    reason: str = ""

    @property
    def site(self) -> Site:
        """The lot's plant."""
        return self.lot.site

    def refusals(self, by: By) -> Iterable[str]:
        """What was rejected has gone back."""
        self.lot.refresh_from_db(fields=["state"])
        if self.lot.state == "rejected":
            yield f"Lot {self.lot.code} is rejected: it goes nowhere."

    def change(self, by: By) -> Done[SupplierLot]:
        """Keep state, person and reason; a hold is a deviation with an owner to be found."""
        if self.decision not in STATES:
            raise InputError("decision", self.decision or "nothing", "accept, hold or reject")
        reason = needed_words(self.reason, "reason", 500, "why, in words")
        if self.decision == "accept" and (against := tuple(self._against())):
            raise Refused(*against)
        before, self.lot.state = self.lot.state, STATES[self.decision]
        self.lot.decided_at, self.lot.decided_by, self.lot.reason = by.at, by.person, reason
        self.lot.save(update_fields=["state", "decided_at", "decided_by", "reason"])
        about = [self.lot.material.ref]
        if self.decision == "hold" and not open_about(self.lot).exists():
            what = f"Supplier's lot {self.lot} is held: {reason}"[:500]
            about.append(perform(OpenDeviation(self.site, "supplier lot", what, about=self.lot.ref), by).ref)
        return Done(self.lot, self.lot.ref, about, {"state": [before, self.lot.state]}, reason)

    def _against(self) -> Iterable[str]:
        """Why it may not be accepted."""
        if self.lot.state == "accepted":
            yield f"Lot {self.lot.code} is accepted already."
            return
        found = self.lot.determinations.order_by("-pk").first()
        if found is None:
            yield "Nothing was found on it here yet: a certificate alone is not a determination."
            return
        opened = [f"deviation {one.pk}" for one in open_about(self.lot)]
        if opened:
            yield f"{', '.join(opened)[:1].upper()}{', '.join(opened)[1:]} about it is open: close it first."
        if not judged(self.lot, found).quantities:
            yield "The check of the balance failed, so no moisture is stated: weigh again."
