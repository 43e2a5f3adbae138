"""Use retained units up: for a retest, or because their time is over."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from isohume.outlets.site.ledger.actions import Action, By, Done
from isohume.outlets.site.lookback.models import Retain, RetainUse
from isohume.outlets.site.people.models import Site
from isohume.outlets.site.people.roles import ANALYST, MANAGER, RELEASE_OFFICER
from isohume.outlets.site.register.actions.fields import needed_words, read_whole


@dataclass
class UseRetain(Action[RetainUse]):
    """Never more than are there."""

    name = "retain_used"
    said = "Used retained units"
    roles = frozenset({ANALYST, MANAGER, RELEASE_OFFICER})

    retain: Retain
    units: str
    what_for: str

    @property
    def site(self) -> Site:
        """The lot's plant."""
        return self.retain.lot.site

    def refusals(self, by: By) -> Iterable[str]:
        """None is left."""
        if self._left() == 0:
            yield f"None of the {self.retain.units} retained units is left."

    def _left(self) -> int:
        return Retain.objects.prefetch_related("uses").get(pk=self.retain.pk).left

    def change(self, by: By) -> Done[RetainUse]:
        """Count them off."""
        left = self._left()
        units = read_whole(self.units, "units", 1, left, "units that are left")
        what_for = needed_words(self.what_for, "what_for", 300, "what for: a retest after a failed check, thrown away")
        use = RetainUse.objects.create(retain=self.retain, units=units, what_for=what_for, at=by.at, by=by.person)
        details = {"units": units, "left": [left, left - units], "place": self.retain.place}
        return Done(use, self.retain.lot.ref, (), details, what_for)
