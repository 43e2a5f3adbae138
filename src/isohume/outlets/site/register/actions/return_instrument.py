"""Return an instrument to use, with the reason; the next check gives its standing."""

from __future__ import annotations

from dataclasses import dataclass

from isohume.outlets.site.adjustments.models import RETURNED
from isohume.outlets.site.adjustments.queries import words_back
from isohume.outlets.site.ledger.actions import Action, By, Done
from isohume.outlets.site.people.models import Site
from isohume.outlets.site.people.roles import MANAGER
from isohume.outlets.site.register.actions.fields import needed_words
from isohume.outlets.site.register.models import Instrument


@dataclass
class ReturnInstrument(Action[Instrument]):
    """It may be used again; what was wrong and what was done about it stands in the reason.

    What it was checked on before says nothing any more: it measures after a new opening check.
    """

    name = "instrument_returned"
    said = "Returned an instrument to use"
    roles = frozenset({MANAGER})

    instrument: Instrument
    reason: str

    @property
    def site(self) -> Site:
        """The plant it stands in."""
        return self.instrument.site

    def refusals(self, by: By) -> list[str]:
        """It is out of use."""
        return [f"{self.instrument.name} is in use."] if self.instrument.in_use else []

    def change(self, by: By) -> Done[Instrument]:
        """The old reason goes to the trail."""
        reason = needed_words(self.reason, "reason", 300, "what was done, and why it may be used again")
        details = {"in_use": ["no", "yes"], "out_of_use_reason": [self.instrument.out_of_use_reason, ""]}
        self.instrument.in_use, self.instrument.out_of_use_reason = True, ""
        self.instrument.save(update_fields=["in_use", "out_of_use_reason"])
        self.instrument.scale_changes.create(
            at=by.at, kind=RETURNED, about=self.instrument.ref, words=words_back(self.instrument)
        )
        return Done(self.instrument, self.instrument.ref, details=details, reason=reason)
