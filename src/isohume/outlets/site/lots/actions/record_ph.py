"""Record the pH of a lot, with the meter's own check on buffers."""

from __future__ import annotations

from dataclasses import dataclass, field

from isohume.foundation.quantity.errors import InputError
from isohume.foundation.quantity.typed import read_words
from isohume.outlets.site.bench.models import Lot
from isohume.outlets.site.bench.moments import event_time
from isohume.outlets.site.ledger.actions import Action, By, Done
from isohume.outlets.site.lots.companion_numbers import BUFFER, ph_of
from isohume.outlets.site.lots.models import PhDetermination
from isohume.outlets.site.lots.state_of_lot import refuse_ended
from isohume.outlets.site.people.models import Site
from isohume.outlets.site.people.roles import BENCH


@dataclass
class RecordPh(Action[PhDetermination]):
    """Readings and buffers as typed; what they give is computed where it is shown and judged."""

    name = "ph_recorded"
    said = "Recorded a pH determination"
    roles = BENCH

    lot: Lot
    values: list[str] = field(default_factory=list)
    temperature_c: str = ""
    method: str = ""
    buffers: list[dict[str, str]] = field(default_factory=list)
    limit: str = ""
    u: str = ""
    at: str = ""

    @property
    def site(self) -> Site:
        """The lot's plant."""
        return self.lot.site

    def refusals(self, by: By) -> list[str]:
        """A lot that is released or rejected takes no further number."""
        return refuse_ended(self.lot)

    def change(self, by: By) -> Done[PhDetermination]:
        """Keep it; a failed check on buffers is kept too, and no pH is stated from it."""
        method = read_words(self.method, "method", 120)
        if not method:
            raise InputError(
                "method", "nothing", "electrode and preparation, such as glass electrode in a slurry 1 to 9"
            )
        found = PhDetermination(
            lot=self.lot,
            values=[_typed(value, f"value_{number}") for number, value in enumerate(self.values, 1)],
            temperature_c=_typed(self.temperature_c, "temperature_c"),
            method=method,
            buffers=[{name: _typed(buffer.get(name, ""), name) for name in BUFFER} for buffer in self.buffers],
            limit=_typed(self.limit, "limit"),
            u=_typed(self.u, "u"),
            at=event_time(self.at, "at", self.site, by.at),
            by=by.person,
        )
        companion = ph_of(found)
        found.save()
        details = {
            "values": found.values,
            "temperature_c": found.temperature_c,
            "method": method,
            "buffers": found.buffers,
            "limit": found.limit,
            "u": found.u,
            "says": companion.text,
        }
        return Done(found, found.ref, [self.lot.ref], details)


def _typed(text: str, name: str) -> str:
    return read_words(text, name, 12)
