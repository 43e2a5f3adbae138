"""Change what the register says of an instrument, with a reason; the trail keeps old and new."""

from __future__ import annotations

from dataclasses import dataclass

from isohume.foundation.quantity.errors import InputError
from isohume.outlets.site.ledger.actions import Action, By, Done
from isohume.outlets.site.people.models import Site
from isohume.outlets.site.people.roles import MANAGER
from isohume.outlets.site.register.actions.fields import needed_words
from isohume.outlets.site.register.actions.instrument_fields import read_fields
from isohume.outlets.site.register.models import Instrument

CHANGEABLE = ("serial", "location", "warm_up_min", "check_limit", "u_instrument", "calibration_due")


@dataclass
class ChangeInstrument(Action[Instrument]):
    """A field left out (None) stays. Name and principle never change: that is another instrument."""

    name = "instrument_changed"
    said = "Changed an instrument"
    roles = frozenset({MANAGER})

    instrument: Instrument
    reason: str
    serial: str | None = None
    location: str | None = None
    warm_up_min: str | None = None
    check_limit: str | None = None
    u_instrument: str | None = None
    calibration_due: str | None = None

    @property
    def site(self) -> Site:
        """The plant it stands in."""
        return self.instrument.site

    def change(self, by: By) -> Done[Instrument]:
        """Only what differs is changed; nothing that differs is an error."""
        typed = {key: value for key in CHANGEABLE if (value := getattr(self, key)) is not None}
        read = read_fields(typed, self.site, self.instrument)
        differs = {key: value for key, value in read.items() if value != getattr(self.instrument, key)}
        if not differs:
            raise InputError("reason", "no changed field", "at least one field that differs from what stands now")
        reason = needed_words(self.reason, "reason", 300, "why it is changed")
        details = {key: [_plain(getattr(self.instrument, key)), _plain(value)] for key, value in differs.items()}
        for key, value in differs.items():
            setattr(self.instrument, key, value)
        self.instrument.save(update_fields=list(differs))
        return Done(self.instrument, self.instrument.ref, details=details, reason=reason)


def _plain(value: object) -> str:
    return "" if value is None else str(value)
