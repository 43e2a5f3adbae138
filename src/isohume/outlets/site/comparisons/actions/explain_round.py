"""Say what was behind a round's score and what was done."""

from __future__ import annotations

from dataclasses import dataclass

from isohume.outlets.site.comparisons.models import ProficiencyRound
from isohume.outlets.site.ledger.actions import Action, By, Done
from isohume.outlets.site.people.models import Site
from isohume.outlets.site.people.roles import MANAGER
from isohume.outlets.site.register.actions.fields import needed_words


@dataclass
class ExplainRound(Action[ProficiencyRound]):
    """Cause and action of a round; a later word replaces an earlier one, and the trail keeps both."""

    name = "proficiency_round_explained"
    said = "Explained a proficiency round"
    roles = frozenset({MANAGER})

    round: ProficiencyRound
    cause: str
    action: str

    @property
    def site(self) -> Site:
        """The round's plant."""
        return self.round.site

    def change(self, by: By) -> Done[ProficiencyRound]:
        """Keep the words; a deviation that was opened is closed on its own page, with a signature."""
        cause = needed_words(
            self.cause, "cause", 1000, "what was behind it, or that none was found and where you looked"
        )
        action = needed_words(self.action, "action", 1000, "what was done, or why nothing was needed")
        found = self.round
        details = {"cause": [found.cause, cause], "action": [found.action, action]}
        found.cause, found.action, found.explained_at, found.explained_by = cause, action, by.at, by.person
        found.save(update_fields=["cause", "action", "explained_at", "explained_by"])
        return Done(found, found.ref, (), details)
