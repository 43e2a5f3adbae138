"""End a correction: readings stand again as the instrument gives them, and it must be checked as it is."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from isohume.outlets.site.adjustments.actions.start_correction import NOT_PROVED
from isohume.outlets.site.adjustments.changes import end, next_minute
from isohume.outlets.site.adjustments.models import Correction
from isohume.outlets.site.ledger.actions import Action, By, Done
from isohume.outlets.site.people.models import Site
from isohume.outlets.site.people.proof import Proof
from isohume.outlets.site.people.roles import MANAGER
from isohume.outlets.site.register.actions.fields import needed_words

STATEMENT = "I end this correction: from now on readings stand as the instrument gives them, and it must be checked."


@dataclass
class EndCorrection(Action[Correction]):
    """From the next full minute on; what was read under it keeps it."""

    name = "correction_ended"
    said = "Ended a correction of readings"
    roles = frozenset({MANAGER})

    correction: Correction
    reason: str
    proof: Proof | None

    @property
    def site(self) -> Site:
        """The instrument's plant."""
        return self.correction.instrument.site

    def refusals(self, by: By) -> Iterable[str]:
        """No fresh proof, or ended already."""
        if self.proof is None or not self.proof.holds_for(by.person, by.at):
            yield NOT_PROVED
            return
        self.correction.refresh_from_db(fields=["ended_at", "ended_reason"])
        if self.correction.ended_at is not None:
            yield f"Correction {self.correction.version} has ended: {self.correction.ended_reason}."

    def change(self, by: By) -> Done[Correction]:
        """Write down when and why."""
        reason = needed_words(self.reason, "reason", 300, "why its readings are no longer corrected")
        found = self.correction
        at = max(next_minute(by.at), found.since)
        end(found, at, by.person, reason)
        details = {
            "version": str(found.version),
            "ended_at": at.isoformat(),
            "meaning": "ended",
            "printed_name": by.person.printed_name,
            "statement": STATEMENT,
        }
        return Done(found, found.ref, [found.instrument.ref], details, reason)
