"""Give a deviation its owner: somebody answers for it."""

from __future__ import annotations

from dataclasses import dataclass

from isohume.foundation.quantity.errors import InputError
from isohume.outlets.site.ledger.actions import Action, By, Done
from isohume.outlets.site.lots.models import Deviation
from isohume.outlets.site.people.models import Person, Site
from isohume.outlets.site.people.roles import MANAGER, RELEASE_OFFICER


@dataclass
class OwnDeviation(Action[Deviation]):
    """Names the person who looks for the cause."""

    name = "deviation_owned"
    said = "Gave a deviation its owner"
    roles = frozenset({MANAGER, RELEASE_OFFICER})

    deviation: Deviation
    owner: Person | None

    @property
    def site(self) -> Site:
        """The deviation's plant."""
        return self.deviation.site

    def refusals(self, by: By) -> list[str]:
        """A closed deviation keeps its owner."""
        self.deviation.refresh_from_db(fields=["closed_at"])
        return [f"Deviation {self.deviation.pk} is closed."] if self.deviation.closed_at else []

    def change(self, by: By) -> Done[Deviation]:
        """Write the owner; the one before stays in the trail."""
        owner, before = self.owner, self.deviation.owner
        if owner is None or owner.site_id != self.site.pk or not owner.is_active:
            raise InputError(
                "owner", "nobody" if owner is None else owner.printed_name, "an active person of this plant"
            )
        self.deviation.owner = owner
        self.deviation.save(update_fields=["owner"])
        details = {"owner": [before.printed_name if before else "nobody", owner.printed_name]}
        lot = self.deviation.lot
        return Done(self.deviation, self.deviation.ref, [owner.ref, *([lot.ref] if lot else [])], details)
