"""Fill in the start sheet of an instrument's day; one that may not start is kept with its reasons."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal

from isohume.bench.assurance import StartSheet as Judged
from isohume.bench.assurance import judge_start
from isohume.bench.reading.check_file import BENCH_HIGH_C, BENCH_LOW_C
from isohume.foundation.quantity.typed import read_decimal, read_temperature_c
from isohume.outlets.site.bench.moments import event_time
from isohume.outlets.site.checks.models import StartSheet
from isohume.outlets.site.ledger.actions import Action, By, Done
from isohume.outlets.site.people.models import Site
from isohume.outlets.site.people.roles import BENCH
from isohume.outlets.site.register.models import Instrument, MethodVersion


@dataclass
class FillStartSheet(Action[StartSheet]):
    """Room, warm-up, block against the method; blank `warmed_up_since` is now."""

    name = "start_sheet_filled"
    said = "Filled in a start sheet"
    roles = BENCH

    instrument: Instrument
    method_version: MethodVersion
    room_temperature_c: str
    room_rh_percent: str
    warmed_up_since: str
    block_temperature_c: str

    @property
    def site(self) -> Site:
        """The instrument's plant."""
        return self.instrument.site

    def refusals(self, by: By) -> Iterator[str]:
        """The instrument is in use, the method is the plant's own."""
        if not self.instrument.in_use:
            yield f"{self.instrument.name} is out of use."
        if self.method_version.method.site_id != self.instrument.site_id:
            yield "The method belongs to another plant."

    def change(self, by: By) -> Done[StartSheet]:
        """Judge it and keep it, whatever it says."""
        room = read_temperature_c(self.room_temperature_c, "room_temperature_c", low=Decimal(0), high=Decimal(50))
        rh = read_decimal(self.room_rh_percent, "room_rh_percent", "relative humidity of the room in percent, 0 to 100")
        since = event_time(self.warmed_up_since, "warmed_up_since", self.site, by.at)
        block = read_temperature_c(self.block_temperature_c, "block_temperature_c", low=BENCH_LOW_C, high=BENCH_HIGH_C)
        judged = self._judged(room, rh, since, block, by.at)
        sheet = StartSheet.objects.create(
            instrument=self.instrument,
            method_version=self.method_version,
            room_temperature_c=str(room),
            room_rh_percent=str(rh),
            warmed_up_since=since,
            block_temperature_c=str(block),
            may_start=judged.may_start,
            reasons=[*judged.reasons, *judged.cautions],
            at=by.at,
            by=by.person,
        )
        return Done(sheet, self.instrument.ref, [sheet.ref, self.method_version.ref], self._details(sheet))

    def _judged(self, room: Decimal, rh: Decimal, since: datetime, block: Decimal, now: datetime) -> Judged:
        return judge_start(
            float(room),
            float(rh),
            max(0, int((now - since).total_seconds() // 60)),
            float(self.instrument.warm_up_min),
            float(block),
            float(self.method_version.temperature_c),
            float(self.method_version.temperature_tolerance_c),
        )

    def _details(self, sheet: StartSheet) -> dict[str, object]:
        return {
            "method": str(self.method_version),
            "room_temperature_c": self.room_temperature_c,
            "room_rh_percent": self.room_rh_percent,
            "warmed_up_since": sheet.warmed_up_since.isoformat(),
            "block_temperature_c": self.block_temperature_c,
            "may_start": "yes" if sheet.may_start else "no",
            "reasons": list(sheet.reasons),
        }
