"""Void a check for a cause: it stays visible with its readings, and protects nothing."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from isohume.foundation.quantity.errors import InputError
from isohume.foundation.quantity.typed import read_words
from isohume.outlets.site.checks.models import Check
from isohume.outlets.site.ledger.actions import Action, By, Done
from isohume.outlets.site.people.models import Site
from isohume.outlets.site.people.roles import MANAGER


@dataclass
class VoidCheck(Action[Check]):
    """By a manager who did not make the check, with the cause; not where a frozen record rests on it."""

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
        """Once only, by a second person, and never under a record."""
        if self.check.voided_at is not None:
            yield "The check is void already."
        if self.check.by_id == by.person.pk:
            yield "You made this check yourself: another manager voids it."
        records = list(self.check.records.order_by("record").values_list("record", flat=True)[:3])
        if records:
            yield (
                f"Frozen records rest on this check ({', '.join(records)}): open a deviation instead, "
                "and decide about their lots."
            )

    def change(self, by: By) -> Done[Check]:
        """Keep it, with who voided it and why."""
        reason = read_words(self.reason, "reason", 300)
        if not reason:
            raise InputError("reason", "nothing", "the cause: what was found to be wrong with this check")
        check = self.check
        check.voided_at, check.voided_by, check.void_reason = by.at, by.person, reason
        check.save(update_fields=["voided_at", "voided_by", "void_reason"])
        return Done(check, check.ref, [check.instrument.ref], reason=reason)
