"""Decide on a blind reference: within its limit it may refresh a competence, beyond it never does."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from isohume.foundation.quantity.errors import InputError
from isohume.outlets.site.bench.moments import plant_day
from isohume.outlets.site.comparisons.models import BlindReference
from isohume.outlets.site.ledger.actions import Action, By, Done, perform
from isohume.outlets.site.people.actions.show_competence import ShowCompetence
from isohume.outlets.site.people.models import Competence, Site
from isohume.outlets.site.people.roles import MANAGER
from isohume.outlets.site.register.actions.fields import needed_words


@dataclass
class DecideBlindReference(Action[BlindReference]):
    """outcome: "competent" records the competence until lapses_on; "not shown" records none."""

    name = "blind_reference_decided"
    said = "Decided on a blind reference"
    roles = frozenset({MANAGER})

    blind: BlindReference
    outcome: str
    lapses_on: str
    decision: str

    @property
    def site(self) -> Site:
        """The plant."""
        return self.blind.site

    def refusals(self, by: By) -> Iterable[str]:
        """Not read yet, decided already, the own one."""
        self.blind.refresh_from_db()
        if not self.blind.read_at:
            yield "It was not read yet."
        if self.blind.decided_at:
            yield "It was decided on already."
        if self.blind.person_id == by.person.pk:
            yield "Nobody decides on the own blind reference: another manager does."

    def change(self, by: By) -> Done[BlindReference]:
        """The competence starts on the day it was read."""
        found = self.blind
        found.decision = needed_words(self.decision, "decision", 300, "why: what the reading showed, what is done next")
        found.competence = self._competence(by)
        found.decided_at, found.decided_by = by.at, by.person
        found.save(update_fields=["decision", "competence", "decided_at", "decided_by"])
        about = [found.person.ref, *([found.competence.ref] if found.competence else [])]
        return Done(found, found.ref, about, {"outcome": self.outcome}, found.decision)

    def _competence(self, by: By) -> Competence | None:
        found = self.blind
        if self.outcome not in ("competent", "not shown"):
            raise InputError("outcome", self.outcome or "nothing", "competent or not shown")
        if self.outcome == "not shown":
            return None
        if not found.within:
            raise InputError("outcome", "competent", "not shown: the reading is beyond the limit")
        day = plant_day(found.read_at, found.site).isoformat()
        evidence = (
            f"Blind reference {found.label}: read {found.result}, known {found.expected}, limit {found.limit}, on "
            f"{found.instrument}"
        )
        return perform(ShowCompetence(found.person, found.method, day, self.lapses_on, evidence[:300]), by)
