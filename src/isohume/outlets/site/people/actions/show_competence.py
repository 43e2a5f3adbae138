"""Record that a person was shown competent in a method, and until when."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta

from isohume.foundation.quantity.errors import InputError
from isohume.foundation.quantity.typed import read_words
from isohume.outlets.site.ledger.actions import Action, By, Done
from isohume.outlets.site.people.models import Competence, Person, Site
from isohume.outlets.site.people.roles import MANAGER
from isohume.outlets.site.register.actions.fields import read_date
from isohume.outlets.site.register.models import Method

LONGEST_AHEAD = timedelta(days=3 * 366)


@dataclass
class ShowCompetence(Action[Competence]):
    """With the evidence: a blind reference, a comparison, a training record. Nobody vouches for oneself."""

    name = "competence_shown"
    said = "Recorded a competence"
    roles = frozenset({MANAGER})

    person: Person
    method: Method
    shown_on: str
    lapses_on: str
    evidence: str

    @property
    def site(self) -> Site:
        """The person's plant."""
        return self.person.site

    def refusals(self, by: By) -> list[str]:
        """Another person's, and method and person belong to one plant."""
        if self.person.pk == by.person.pk:
            return ["Nobody records the own competence: another manager does."]
        return [] if self.method.site_id == self.person.site_id else ["The method belongs to another plant."]

    def change(self, by: By) -> Done[Competence]:
        """Earlier ones stay; the latest that holds counts."""
        shown, lapses = read_date(self.shown_on, "shown_on"), read_date(self.lapses_on, "lapses_on")
        if lapses <= shown:
            raise InputError("lapses_on", self.lapses_on, f"a day after {shown.isoformat()}")
        longest = by.at.date() + LONGEST_AHEAD
        if lapses > longest:
            raise InputError("lapses_on", self.lapses_on, f"at most three years ahead, {longest.isoformat()}")
        evidence = read_words(self.evidence, "evidence", 300)
        if not evidence:
            raise InputError("evidence", "nothing", "what showed it: a blind reference, a comparison, a record")
        found = Competence.objects.create(
            person=self.person, method=self.method, shown_on=shown, lapses_on=lapses, evidence=evidence
        )
        details = {"method": self.method.name, "shown_on": self.shown_on, "lapses_on": self.lapses_on}
        return Done(found, self.person.ref, [found.ref, self.method.ref], {**details, "evidence": evidence})
