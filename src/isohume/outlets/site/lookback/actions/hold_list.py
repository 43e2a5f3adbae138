"""Put every lot that a failed check puts at risk on hold, in one act; each is decided by itself later."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from django.db.models import Q, QuerySet

from isohume.bench.record.canonical_form import canonical
from isohume.outlets.site.bench.models import Lot
from isohume.outlets.site.checks.models import Check
from isohume.outlets.site.ledger.actions import Action, By, Done, perform
from isohume.outlets.site.ledger.writing import writing
from isohume.outlets.site.lookback.models import HeldLot, ListHold
from isohume.outlets.site.lookback.queries import Looked, looked_back
from isohume.outlets.site.lots.actions.hold_lot import HoldLot
from isohume.outlets.site.people.models import Site
from isohume.outlets.site.people.roles import ANALYST, MANAGER, RELEASE_OFFICER
from isohume.outlets.site.register.actions.fields import needed_words


@dataclass
class HoldList(Action[ListHold]):
    """Done twice it holds nothing twice: a lot that an earlier act for this check held is decided by its deviation."""

    name = "list_held"
    said = "Put the lots at risk of a failed check on hold"
    roles = frozenset({ANALYST, MANAGER, RELEASE_OFFICER})

    check: Check
    hold_reason: str

    @property
    def site(self) -> Site:
        """The check's plant."""
        return self.check.instrument.site

    def refusals(self, by: By) -> Iterable[str]:
        """A check that puts nothing at risk."""
        self.check.refresh_from_db(fields=["voided_at"])
        if self.check.passed or self.check.voided_at is not None:
            what = "is void" if self.check.voided_at else "passed"
            yield f"Check {self.check.pk} {what}: it puts no lot at risk."
            return
        looked = looked_back(self.check)
        if not looked.back.results:
            yield f"Check {self.check.pk} puts no lot at risk: there is nothing to hold."
        elif not to_hold(looked) and not self.check.list_holds.exists():
            yield "Every lot of the list is held or rejected already."

    def change(self, by: By) -> Done[ListHold]:
        """Keep the list as it stands, and hold each lot of it with a deviation of its own."""
        reason = needed_words(self.hold_reason, "hold_reason", 500, "why the lots are held")
        looked = looked_back(self.check)
        lots = to_hold(looked)
        if not lots:
            return Done(self.check.list_holds.latest("pk"), self.check.ref, before=True)
        rows = list_of(looked)
        digest = hashlib.sha256(canonical(rows)).hexdigest()
        hold = ListHold.objects.create(
            of_check=self.check, reason=reason, rows=rows, digest=digest, at=by.at, by=by.person
        )
        with writing(by.at) as evidence:
            evidence.keep_file(f"look-back-{self.check.pk}-{hold.pk}.json", canonical(rows))
        held = [HeldLot(hold=hold, lot=lot, deviation=perform(HoldLot(lot, reason), by)) for lot in lots]
        HeldLot.objects.bulk_create(held)
        about = [ref for one in held for ref in (one.lot.ref, one.deviation.ref)]
        details = {"lots": [lot.code for lot in lots], "on the list": len(rows), "sha256": digest}
        return Done(hold, self.check.ref, about, details, reason)


def to_hold(looked: Looked) -> list[Lot]:
    """The lots of the list that no act held yet and that still can be held, worst first."""
    held = {one.lot_id for one in held_of(looked.check)}
    return [lot for lot in looked.lots if lot.pk not in held and lot.state != "rejected"]


def held_of(check: Check) -> QuerySet[HeldLot]:
    """What was held for this check, or is held still for another one: a check repeated at once fails again."""
    by_this = Q(hold__of_check=check) | Q(deviation__closed_at=None)
    found = HeldLot.objects.filter(by_this, hold__of_check__instrument=check.instrument_id)
    return found.select_related("hold__by", "deviation").order_by("pk")


def list_of(looked: Looked) -> list[dict[str, Any]]:
    """The list as plain values, worst first, with the state each lot had."""
    return [{**result.as_json(), "state": looked.of(result).lot.state} for result in looked.back.results]
