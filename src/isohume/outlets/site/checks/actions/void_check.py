"""Void a check for a cause: it stays visible with its readings, and protects nothing."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from isohume.foundation.quantity.errors import InputError
from isohume.foundation.quantity.typed import read_words
from isohume.outlets.site.checks.giving import WEIGHS, settle
from isohume.outlets.site.checks.models import Check
from isohume.outlets.site.ledger.actions import Action, By, Done
from isohume.outlets.site.ledger.trail import trail_of
from isohume.outlets.site.people.models import Site
from isohume.outlets.site.people.roles import MANAGER


@dataclass
class VoidCheck(Action[Check]):
    """By a manager who did not make the check, with the cause; not where a frozen record names it."""

    name = "check_voided"
    said = "Voided a check"
    roles = frozenset({MANAGER})

    check: Check
    reason: str

    @property
    def site(self) -> Site:
        """The instrument's plant."""
        return self.check.instrument.site

    def refusals(self, by: By) -> Iterator[str]:
        """Once only, by a second person, never under a record, and with the cause before the repeat."""
        self.check.refresh_from_db(fields=["voided_at"])
        if self.check.voided_at is not None:
            yield "The check is void already."
        if self.check.by_id == by.person.pk:
            yield "You made this check yourself: another manager voids it."
        if records := records_naming(self.check):
            yield (
                f"Frozen records rest on this check ({', '.join(records[:3])}): open a deviation instead, "
                "and decide about their lots."
            )
        later = Check.objects.filter(
            WEIGHS, instrument=self.check.instrument_id, last_read_at__gt=self.check.last_read_at
        )
        if (repeat := later.order_by("last_read_at", "pk").first()) is not None:
            name = self.check.instrument.name
            yield f"Check {repeat.pk} of {name} came after it: a cause is found before the repeat."
        for deviation in self.check.deviations.filter(closed_at=None).order_by("pk"):
            yield f"Deviation {deviation.pk} ({deviation.kind}) of this check is open: close it with its cause first."

    def change(self, by: By) -> Done[Check]:
        """Keep it, with who voided it and why."""
        reason = read_words(self.reason, "reason", 300)
        if not reason:
            raise InputError("reason", "nothing", "the cause: what was found to be wrong with this check")
        check = self.check
        check.voided_at, check.voided_by, check.void_reason = by.at, by.person, reason
        check.save(update_fields=["voided_at", "voided_by", "void_reason"])
        settle(check)
        return Done(check, check.ref, [check.instrument.ref], reason=reason)


def records_naming(check: Check) -> list[str]:
    """The frozen records that name a check, as the opening one or as the one that closes, in order."""
    judged = [line.details["record"] for line in trail_of(check.ref) if line.kind == "lot_judged"]
    return sorted({*judged, *check.records.values_list("record", flat=True)})
