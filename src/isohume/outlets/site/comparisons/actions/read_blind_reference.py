"""Read a blind reference: the person it was set for types the value, and then it is shown; beyond is a deviation."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal

from isohume.outlets.site.comparisons.actions.fields import a_w_text, instrument_of
from isohume.outlets.site.comparisons.actions.set_blind_reference import committed
from isohume.outlets.site.comparisons.models import BlindReference
from isohume.outlets.site.ledger.actions import Action, By, Done, perform
from isohume.outlets.site.lots.actions.open_deviation import OpenDeviation
from isohume.outlets.site.people.models import Site
from isohume.outlets.site.people.roles import ANALYST, MANAGER


@dataclass
class ReadBlindReference(Action[BlindReference]):
    """Once, and by nobody else."""

    name = "blind_reference_read"
    said = "Read a blind reference"
    roles = frozenset({ANALYST, MANAGER})

    blind: BlindReference
    result: str
    instrument: str

    @property
    def site(self) -> Site:
        """The plant."""
        return self.blind.site

    def refusals(self, by: By) -> Iterable[str]:
        """Another person's, read already, or a value that is not the one that was set."""
        self.blind.refresh_from_db()
        if self.blind.person_id != by.person.pk:
            yield f"It was set for {self.blind.person}: nobody else reads it."
        if self.blind.read_at:
            yield "It was read already, and its value is known now: set another one."
        if committed(self.blind.expected, self.blind.salt) != self.blind.commitment:
            yield "The value is not the one that was set: its digest differs. Set another one."

    def change(self, by: By) -> Done[BlindReference]:
        """Judge the difference as decimals: one equal to the limit is within."""
        found = self.blind
        found.instrument = instrument_of(found.site, self.instrument, "instrument")
        found.result = a_w_text(self.result, "result")
        found.within = abs(Decimal(found.result) - Decimal(found.expected)) <= Decimal(found.limit)
        found.read_at = by.at
        found.save(update_fields=["instrument", "result", "within", "read_at"])
        details = {"read": found.result, "expected": found.expected, "salt": found.salt, "limit": found.limit}
        word = "within the limit" if found.within else "beyond the limit"
        about = [found.person.ref, found.instrument.ref]
        if not found.within:
            about.append(perform(OpenDeviation(found.site, "blind reference", self._missed(), about=found.ref), by).ref)
        return Done(found, found.ref, about, {**details, "word": word})

    def _missed(self) -> str:
        """What the deviation says: the person may have missed it, or the instrument, or the value may be wrong."""
        found = self.blind
        return (
            f"Blind reference {found.label}: {found.person.printed_name} read {found.result} on {found.instrument}, "
            f"known {found.expected}, limit {found.limit}. Find the cause, person, instrument or reference, and look "
            "at what was measured since the last good one."
        )
