"""Log a cleaning of chamber and rim; the next check of the instrument names it."""

from __future__ import annotations

from dataclasses import dataclass

from isohume.foundation.quantity.errors import InputError
from isohume.foundation.quantity.typed import read_words
from isohume.outlets.site.bench.moments import event_time
from isohume.outlets.site.checks.models import Cleaning
from isohume.outlets.site.ledger.actions import Action, By, Done
from isohume.outlets.site.people.models import Site
from isohume.outlets.site.people.roles import BENCH
from isohume.outlets.site.register.models import Instrument


@dataclass
class LogCleaning(Action[Cleaning]):
    """What was cleaned, and when; an instrument out of use may be cleaned too."""

    name = "cleaning_logged"
    said = "Cleaned an instrument"
    roles = BENCH

    instrument: Instrument
    what: str
    at: str = ""

    @property
    def site(self) -> Site:
        """The instrument's plant."""
        return self.instrument.site

    def change(self, by: By) -> Done[Cleaning]:
        """Log it at the moment it was done."""
        what = read_words(self.what, "what", 300)
        if not what:
            raise InputError("what", "nothing", "what was cleaned, such as chamber, rim and seal wiped")
        at = event_time(self.at, "at", self.site, by.at)
        cleaning = Cleaning.objects.create(instrument=self.instrument, what=what, at=at, by=by.person)
        return Done(cleaning, self.instrument.ref, [cleaning.ref], {"what": what, "at": at.isoformat()})
