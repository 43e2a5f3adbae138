"""What the live page knows before the stream begins: how ready each instrument is, and what may be read next."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta

from isohume.bench.reading.portion_clock import in_hours
from isohume.outlets.site.bench.cups import WaitingCup, waiting_cups
from isohume.outlets.site.bench.limits import clock_limits
from isohume.outlets.site.bench.moments import plant_day
from isohume.outlets.site.bench.queries import versions_in_force, waiting
from isohume.outlets.site.captures.models import Agent, InstrumentState
from isohume.outlets.site.checks.models import StartSheet
from isohume.outlets.site.checks.queries import StandingNow, standings
from isohume.outlets.site.people.models import Person, Site
from isohume.outlets.site.register.models import Bottle, Instrument, MethodVersion
from isohume.outlets.site.register.queries import usable_bottles

SHEET_STANDS = timedelta(hours=24)
MOST_CUPS, MOST_BOTTLES = 60, 60


@dataclass(frozen=True, slots=True)
class Bay:
    """One instrument on the page: what it may do, how it was started today, what it says of itself."""

    standing: StandingNow
    sheet: StartSheet | None
    said: InstrumentState | None
    method: MethodVersion | None
    now: datetime

    @property
    def instrument(self) -> Instrument:
        """The instrument."""
        return self.standing.instrument

    @property
    def until(self) -> datetime | None:
        """When the check runs out that lets it measure; None where it may not."""
        gate = self.standing.gate
        return self.now + timedelta(hours=gate.hours_left) if gate.allowed else None

    @property
    def warm(self) -> tuple[str, str]:
        """How long it has warmed up, in words, and the mark beside it."""
        least = self.instrument.warm_up_min
        if self.sheet is None:
            return f"no start sheet in the last 24 h; it asks {least} min to warm up", "unknown"
        minutes = (self.now - self.sheet.warmed_up_since).total_seconds() / 60
        if minutes < least:
            return f"warming up: {in_hours(max(minutes, 0.0))} of {least} min", "wait"
        return f"warm for {in_hours(minutes)}; it asks {least} min", "pass"

    @property
    def block_c(self) -> str:
        """The block's temperature as last said by the instrument, else as on the start sheet."""
        if self.said is not None and self.said.block_temperature_c:
            return self.said.block_temperature_c
        return self.sheet.block_temperature_c if self.sheet is not None else ""

    @property
    def block(self) -> tuple[str, str]:
        """The block's temperature against the method's, in words, and the mark beside it."""
        if self.method is None:
            return "no method to hold the block's temperature against", "unknown"
        asked, band = self.method.temperature_c, self.method.temperature_tolerance_c
        if not self.block_c:
            return f"block not known; the method asks {asked} °C ± {band} °C", "unknown"
        off = abs(float(self.block_c) - float(asked)) > float(band)
        word = "outside" if off else "within"
        return f"block {self.block_c} °C, {word} the method's {asked} °C ± {band} °C", "hold" if off else "pass"


@dataclass(frozen=True, slots=True)
class Waits:
    """A cup that waits, with its clock's limit in minutes."""

    cup: WaitingCup
    limit_min: int | None


@dataclass(frozen=True, slots=True)
class LivePage:
    """Everything the page shows before the first event."""

    bays: list[Bay]
    cups: list[Waits]
    more_cups: int
    bottles: list[Bottle]
    agents: bool  # whether a bench agent may bring runs
    sound: bool
    browser: bool

    @property
    def choices(self) -> list[tuple[str, str]]:
        """What the next run may be of: the waiting cups, then the open bottles."""
        cups = [
            (one.cup.portion.scan_code, f"{one.cup.portion}, {one.cup.portion.sample.lot.product}") for one in self.cups
        ]
        return cups + [(bottle.scan_code, str(bottle)) for bottle in self.bottles]


def live_page(site: Site, person: Person, now: datetime) -> LivePage:
    """The page for a person of a plant, in a fixed number of questions."""
    versions = versions_in_force(site)
    cups = waiting_cups(waiting(site), versions, now)
    shown = [Waits(cup, _limit_min(cup, versions)) for cup in cups[:MOST_CUPS]]
    choice = getattr(person, "notices", None)
    return LivePage(
        bays=list(_bays(site, list(versions.values()), now)),
        cups=shown,
        more_cups=len(cups) - len(shown),
        bottles=usable_bottles(site, plant_day(now, site))[:MOST_BOTTLES],
        agents=Agent.objects.filter(site=site, revoked_at=None).exists(),
        sound=bool(choice and choice.sound),
        browser=bool(choice and choice.browser),
    )


def _bays(site: Site, versions: list[MethodVersion], now: datetime) -> Iterable[Bay]:
    sheets: dict[int, StartSheet] = {}
    newest = StartSheet.objects.filter(instrument__site=site, at__lte=now, at__gt=now - SHEET_STANDS)
    for sheet in newest.select_related("method_version").order_by("at", "pk"):
        sheets[sheet.instrument_id] = sheet
    said = {one.instrument_id: one for one in InstrumentState.objects.filter(instrument__site=site)}
    for standing in standings(site, now):
        key = standing.instrument.pk
        if standing.instrument.in_use:
            mine = sheets.get(key)
            method = mine.method_version if mine else versions[0] if len(versions) == 1 else None
            yield Bay(standing, mine, said.get(key), method, now)


def _limit_min(cup: WaitingCup, versions: dict[int, MethodVersion]) -> int | None:
    version = versions.get(cup.portion.sample.lot.product.method_id)
    return None if version is None else int(clock_limits(version).minutes(cup.portion.cover))
