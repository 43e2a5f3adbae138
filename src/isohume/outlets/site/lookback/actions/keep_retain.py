"""Keep retained units of a lot: how many, where, until when."""

from __future__ import annotations

from dataclasses import dataclass

from isohume.foundation.quantity.errors import InputError
from isohume.outlets.site.bench.models import Lot
from isohume.outlets.site.bench.moments import plant_day
from isohume.outlets.site.ledger.actions import Action, By, Done
from isohume.outlets.site.lookback.models import Retain
from isohume.outlets.site.people.models import Site
from isohume.outlets.site.people.roles import ANALYST, MANAGER, RELEASE_OFFICER
from isohume.outlets.site.register.actions.fields import needed_words, read_date, read_whole

MOST_UNITS = 100_000


@dataclass
class KeepRetain(Action[Retain]):
    """A lot at risk is tested again from what was put aside of it."""

    name = "retain_kept"
    said = "Put retained units aside"
    roles = frozenset({ANALYST, MANAGER, RELEASE_OFFICER})

    lot: Lot
    units: str
    place: str
    keep_until: str

    @property
    def site(self) -> Site:
        """The lot's plant."""
        return self.lot.site

    def change(self, by: By) -> Done[Retain]:
        """Write them into the register."""
        units = read_whole(self.units, "units", 1, MOST_UNITS, "units")
        place = needed_words(self.place, "place", 120, "where they are kept, such as retain room, shelf 4")
        until = read_date(self.keep_until, "keep_until")
        if until < plant_day(by.at, self.site):
            raise InputError("keep_until", self.keep_until, "today or a day to come")
        retain = Retain.objects.create(lot=self.lot, units=units, place=place, keep_until=until, at=by.at, by=by.person)
        details = {"units": units, "place": place, "keep_until": until.isoformat()}
        return Done(retain, self.lot.ref, (), details)
