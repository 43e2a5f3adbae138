"""The days a plant lives: which ones they are, and what is done on every one of them."""

from __future__ import annotations

import random
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from isohume.foundation.quantity.errors import InputError
from isohume.foundation.solutions import reference_value
from isohume.outlets.demo.live.bench import ZONE, LiveBench
from isohume.outlets.site.bench.actions.hand_over import WriteHandOver
from isohume.outlets.site.charts.actions.review_charts import ReviewCharts
from isohume.outlets.site.checks.actions.fill_start_sheet import FillStartSheet
from isohume.outlets.site.checks.actions.record_check import RecordCheck
from isohume.outlets.site.checks.models import Check
from isohume.outlets.site.ledger.actions import By, perform
from isohume.outlets.site.lots.actions.close_deviation import CloseDeviation
from isohume.outlets.site.lots.actions.own_deviation import OwnDeviation
from isohume.outlets.site.lots.models import Deviation
from isohume.outlets.site.people.proof import Proof

DAYS, FEWEST = 90, 14
WEEK, SATURDAY = 5, 5
NOISE = 0.0005  # of a reading of a reference
CHANCE = "None found: the other references were within, and nothing happened on the day"
LOOKED = "Chamber and bottle looked at; nothing was changed, the next checks are watched"


def working_days(now: datetime, days: int) -> list[date]:
    """The last working days before a moment, five for each whole week: as many on whatever day it is asked.

    Raises: InputError for fewer days than its incidents need.
    """
    if days < FEWEST:
        raise InputError("days", days, f"at least {FEWEST}")
    on = now.astimezone(ZoneInfo(ZONE)).date()
    found: list[date] = []
    while len(found) < days // 7 * WEEK:
        on -= timedelta(days=1)
        if on.weekday() < SATURDAY:
            found.append(on)
    return found[::-1]


@dataclass(frozen=True)
class Day:
    """One working day. Its dice are its own, whatever was lived before.

    left: how many working days come after it. last: the last working day.
    """

    bench: LiveBench
    on: date
    left: int
    last: date
    dice: random.Random

    def at(self, hour: int, minute: int = 0) -> datetime:
        """A moment of this day by the plant's clock."""
        return datetime.combine(self.on, time(hour, minute), ZoneInfo(ZONE))

    def by(self, role: str, at: datetime) -> By:
        """Somebody in this role at a moment."""
        return By(self.bench.people[role], at)

    @property
    def ends_a_week(self) -> bool:
        """Every fifth working day, counted from the last one."""
        return self.left % WEEK == 0


def begun_at(now: datetime, days: int) -> datetime:
    """When the bench was set up: as many days ago, and before its first working day."""
    today = now.astimezone(ZoneInfo(ZONE)).date()
    first = min(working_days(now, days)[0] - timedelta(days=1), today - timedelta(days=days))
    return datetime.combine(first, time(10, 0), ZoneInfo(ZONE))


def days_of(bench: LiveBench, now: datetime, days: int, seed: int) -> Iterator[Day]:
    """The days to be lived, the last one too."""
    every = working_days(now, days)
    for place, on in enumerate(every):
        left = len(every) - 1 - place
        yield Day(bench, on, left, every[-1], random.Random(f"{seed} {left}"))


def start(day: Day, called: str, at: datetime) -> None:
    """The start sheet: room, warm-up, block."""
    room, humidity, block = day.dice.gauss(21.5, 0.6), day.dice.gauss(44, 4), day.dice.gauss(25.0, 0.05)
    since = (at - timedelta(minutes=50)).isoformat()
    instrument = day.bench.instruments[called]
    sheet = FillStartSheet(instrument, day.bench.method, f"{room:.1f}", f"{humidity:.0f}", since, f"{block:.1f}")
    perform(sheet, day.by("analyst", at))


def check(
    day: Day, called: str, at: datetime, bottles: Sequence[str], off: Mapping[str, float] | None = None,
    kind: str = "opening",
) -> Check:  # fmt: skip
    """A check on bottles by their names on the bench; `off` is what is wrong with a bottle, by its name."""
    readings = []
    for k, name in enumerate(bottles):
        lot = day.bench.bottles[name].solution_lot
        temperature = f"{day.dice.gauss(25.0, 0.08):.1f}"
        expected = reference_value(lot.solution, float(temperature), float(lot.molality) if lot.molality else None).a_w
        a_w = float(expected) + day.dice.gauss(0.0, NOISE) + (off or {}).get(name, 0.0)
        moment = (at + timedelta(minutes=5 * k)).isoformat()
        bottle = day.bench.bottles[name]
        readings.append({"bottle": bottle, "temperature_c": temperature, "a_w": f"{a_w:.4f}", "read_at": moment})
    done = at + timedelta(minutes=5 * len(bottles) - 4)
    action = RecordCheck(day.bench.instruments[called], kind, day.bench.method, readings)
    return perform(action, day.by("analyst", done))


def review_week(day: Day, at: datetime) -> None:
    """The manager looks at the charts, and answers for the signals of the week."""
    by = day.by("manager", at)
    perform(ReviewCharts(by.person.site, "Weekly review"), by)
    for task in Deviation.objects.filter(site=by.person.site, kind="chart signal", closed_at=None).order_by("pk"):
        perform(OwnDeviation(task, by.person), by)
        perform(CloseDeviation(task, CHANCE, LOOKED, "", Proof(by.person.pk, at)), by)


def own_tasks(day: Day, at: datetime) -> None:
    """The manager answers for what is open and has nobody yet."""
    by = day.by("manager", at)
    for task in Deviation.objects.filter(site=by.person.site, closed_at=None, owner=None).order_by("pk"):
        perform(OwnDeviation(task, by.person), by)


def hand_over(day: Day, at: datetime, text: str) -> None:
    """A note for the next shift."""
    by = day.by("analyst", at)
    perform(WriteHandOver(by.person.site, text), by)
