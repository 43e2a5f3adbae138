"""Set how far corrections under a method may go."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from isohume.bench.assurance.correction import HIGHEST_CAPS
from isohume.outlets.site.adjustments.models import CorrectionCaps
from isohume.outlets.site.adjustments.queries import caps_of
from isohume.outlets.site.ledger.actions import Action, By, Done
from isohume.outlets.site.people.models import Site
from isohume.outlets.site.people.roles import MANAGER
from isohume.outlets.site.register.actions.fields import needed_words, read_number
from isohume.outlets.site.register.models import Method

FIELDS = ("offset", "slope", "walk")


@dataclass
class SetCorrectionCaps(Action[CorrectionCaps]):
    """From now on; corrections that were made keep the caps of their day."""

    name = "correction_caps_set"
    said = "Set the caps of corrections"
    roles = frozenset({MANAGER})

    method: Method
    offset: str
    slope: str
    walk: str
    reason: str

    @property
    def site(self) -> Site:
        """The plant that uses the method."""
        return self.method.site

    def change(self, by: By) -> Done[CorrectionCaps]:
        """Another set of caps."""
        before = caps_of(self.method)
        read = {name: _cap(getattr(self, name), name) for name in FIELDS}
        reason = needed_words(self.reason, "reason", 300, "why corrections may go this far and no further")
        made = CorrectionCaps.objects.create(method=self.method, **read, reason=reason, since=by.at, by=by.person)
        details = {name: [f"{getattr(before, name):g}", read[name]] for name in FIELDS}
        return Done(made, made.ref, [self.method.ref], details, reason)


def _cap(text: str, name: str) -> str:
    most = Decimal(repr(getattr(HIGHEST_CAPS, name)))
    unit = "of slope" if name == "slope" else "of a_w"
    return read_number(text, name, Decimal("0.0001"), most, f"at least 0.0001 and at most {most} {unit}")
