"""Cover a cup otherwise: its clock starts again."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from isohume.foundation.quantity.errors import InputError
from isohume.outlets.site.bench.masks import cover_typed
from isohume.outlets.site.bench.models import Portion
from isohume.outlets.site.bench.moments import before_minute, event_time, shown_at
from isohume.outlets.site.ledger.actions import Action, By, Done
from isohume.outlets.site.people.models import Site
from isohume.outlets.site.people.roles import BENCH


@dataclass
class CoverPortion(Action[Portion]):
    """Open, lidded or film-wrapped, from a moment on."""

    name = "portion_covered"
    said = "Changed the cover of a cup"
    roles = BENCH

    portion: Portion
    cover: str
    covered_at: str | datetime = ""

    @property
    def site(self) -> Site:
        """The plant of the lot."""
        return self.portion.sample.lot.site

    def refusals(self, by: By) -> Iterable[str]:
        """A discarded cup has no cover."""
        if self.portion.discarded_reason:
            yield f"Cup {self.portion.code} was discarded: {self.portion.discarded_reason.rstrip('.')}."

    def change(self, by: By) -> Done[Portion]:
        """The clock of the new cover runs from its time."""
        portion = self.portion
        cover = cover_typed(self.cover)
        at = event_time(self.covered_at, "covered_at", self.site, by.at)
        if before_minute(at, portion.covered_at):
            since = shown_at(portion.covered_at, self.site)
            raise InputError("covered_at", shown_at(at, self.site), f"a time after the last cover ({since})")
        details = {
            "cover": [portion.cover, cover],
            "covered_at": [portion.covered_at.isoformat(), at.isoformat()],
        }
        portion.cover, portion.covered_at = cover, at
        portion.save(update_fields=["cover", "covered_at"])
        return Done(portion, portion.ref, [portion.sample.lot.ref], details)
