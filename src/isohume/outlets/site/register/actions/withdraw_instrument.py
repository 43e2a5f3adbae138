"""Take an instrument out of use, with the reason that stands at it."""

from __future__ import annotations

from dataclasses import dataclass

from isohume.outlets.site.adjustments.models import OUT_OF_USE
from isohume.outlets.site.adjustments.queries import words_out
from isohume.outlets.site.ledger.actions import Action, By, Done
from isohume.outlets.site.people.models import Site
from isohume.outlets.site.people.roles import MANAGER
from isohume.outlets.site.register.actions.fields import needed_words
from isohume.outlets.site.register.models import Instrument


@dataclass
class WithdrawInstrument(Action[Instrument]):
    """Nothing is measured on it until it is returned, and checked anew."""

    name = "instrument_withdrawn"
    said = "Took an instrument out of use"
    roles = frozenset({MANAGER})

    instrument: Instrument
    reason: str

    @property
    def site(self) -> Site:
        """The plant it stands in."""
        return self.instrument.site

    def refusals(self, by: By) -> list[str]:
        """It is in use."""
        if self.instrument.in_use:
            return []
        return [f"{self.instrument.name} is out of use already: {self.instrument.out_of_use_reason}"]

    def change(self, by: By) -> Done[Instrument]:
        """The reason stands at the instrument until it is returned."""
        reason = needed_words(self.reason, "reason", 300, "why it must not be used")
        self.instrument.in_use, self.instrument.out_of_use_reason = False, reason
        self.instrument.save(update_fields=["in_use", "out_of_use_reason"])
        self.instrument.scale_changes.create(
            at=by.at, kind=OUT_OF_USE, about=self.instrument.ref, words=words_out(self.instrument)
        )
        return Done(self.instrument, self.instrument.ref, details={"in_use": ["yes", "no"]}, reason=reason)
