"""Log a fresh portion of a reference, poured after a check failed; the next check reads it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from isohume.foundation.quantity.errors import InputError
from isohume.outlets.site.adjustments.models import FreshPortion
from isohume.outlets.site.adjustments.sequence import failure_of, open_failure
from isohume.outlets.site.bench.moments import before_minute, event_time, shown_at
from isohume.outlets.site.checks.bottles import bottle_named, reasons_at
from isohume.outlets.site.checks.models import Check
from isohume.outlets.site.ledger.actions import Action, By, Done
from isohume.outlets.site.people.models import Site
from isohume.outlets.site.people.roles import BENCH
from isohume.outlets.site.register.models import Bottle


@dataclass
class LogFreshPortion(Action[FreshPortion]):
    """What stood open is poured away; a fresh portion of the same reference is one step after a failed check."""

    name = "fresh_portion_logged"
    said = "Poured a fresh portion of a reference"
    roles = BENCH

    failed_check: Check
    bottle: str
    at: str = ""

    @property
    def site(self) -> Site:
        """The instrument's plant."""
        return self.failed_check.instrument.site

    def refusals(self, by: By) -> Iterator[str]:
        """Only while the failure is open."""
        if open_failure(self.failed_check.instrument, by.at) != failure_of(self.failed_check):
            yield f"Check {self.failed_check.pk} is answered: {self.failed_check.instrument} passed again since."

    def change(self, by: By) -> Done[FreshPortion]:
        """Keep it with its bottle and its moment."""
        failed, bottle = failure_of(self.failed_check), self._bottle()
        at = event_time(self.at, "at", self.site, by.at)
        if before_minute(at, failed.last_read_at):
            allowed = f"a time after check {failed.pk} failed ({shown_at(failed.last_read_at, self.site)})"
            raise InputError("at", shown_at(at, self.site), allowed)
        if why := reasons_at(bottle, at):
            raise InputError("bottle", self.bottle, f"a bottle that may be read. {why[0]}")
        at = max(at, failed.last_read_at)  # forms give minutes; it was poured after the reading that failed
        portion = FreshPortion.objects.create(failed_check=failed, bottle=bottle, at=at, by=by.person)
        about = [failed.ref, failed.instrument.ref, bottle.ref]
        return Done(portion, portion.ref, about, {"bottle": bottle.ref, "at": at.isoformat()})

    def _bottle(self) -> Bottle:
        found = bottle_named(self.bottle, "bottle", self.site)
        if found is None:
            raise InputError("bottle", "nothing", "the bottle it was poured from, scanned or picked")
        return found
