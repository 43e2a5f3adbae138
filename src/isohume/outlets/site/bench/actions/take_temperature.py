"""Take a cup's temperature: the tempering queue counts from the last one."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from isohume.foundation.quantity.errors import InputError
from isohume.outlets.site.bench.masks import temperature_typed
from isohume.outlets.site.bench.models import Portion
from isohume.outlets.site.bench.moments import before_minute, event_time, shown_at
from isohume.outlets.site.ledger.actions import Action, By, Done
from isohume.outlets.site.people.models import Site
from isohume.outlets.site.people.roles import BENCH


@dataclass
class TakeTemperature(Action[Portion]):
    """The temperature of a portion as measured now or a while ago."""

    name = "temperature_taken"
    said = "Took a cup's temperature"
    roles = BENCH

    portion: Portion
    temperature_c: str
    taken_at: str | datetime = ""

    @property
    def site(self) -> Site:
        """The plant of the lot."""
        return self.portion.sample.lot.site

    def refusals(self, by: By) -> Iterable[str]:
        """A discarded cup is gone."""
        if self.portion.discarded_reason:
            yield f"Cup {self.portion.code} was discarded: {self.portion.discarded_reason.rstrip('.')}."

    def change(self, by: By) -> Done[Portion]:
        """Keep it with its time; an earlier one stays in the trail."""
        portion = self.portion
        taken = temperature_typed(self.temperature_c)
        if not taken:
            raise InputError("temperature_c", "nothing", "the measured temperature in degrees Celsius")
        at = event_time(self.taken_at, "taken_at", self.site, by.at)
        since = portion.temperature_at or portion.prepared_at
        if before_minute(at, since):
            raise InputError("taken_at", shown_at(at, self.site), f"a time not before {shown_at(since, self.site)}")
        details = {"temperature_c": [portion.temperature_c, taken], "taken_at": at.isoformat()}
        portion.temperature_c, portion.temperature_at = taken, at
        portion.save(update_fields=["temperature_c", "temperature_at"])
        return Done(portion, portion.ref, [portion.sample.lot.ref], details)
