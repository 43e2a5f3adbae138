"""What has a date in the plant: calibrations, checks, bottles, reference lots, competence, comparisons, budgets."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date, datetime

from django.urls import reverse

from isohume.bench.assurance.due import Due, DueItem, due_list
from isohume.outlets.site.bench.moments import plant_day
from isohume.outlets.site.budgets.due import due_items as due_budgets
from isohume.outlets.site.checks.bottles import called
from isohume.outlets.site.checks.queries import standings
from isohume.outlets.site.comparisons.due import due_items as due_comparisons
from isohume.outlets.site.people.models import Competence, Site
from isohume.outlets.site.register.bottle_life import ledger_of
from isohume.outlets.site.register.models import Instrument, SolutionLot
from isohume.outlets.site.register.queries import bottles_of, faults_of_lot


@dataclass(frozen=True, slots=True)
class DueRow:
    """A due item as a page shows it: with the page of its object."""

    due: Due
    url: str

    @property
    def shape(self) -> str:
        """The mark of its state."""
        return "due" if self.due.days_left <= 0 else "wait"


def due_items(site: Site, at: datetime) -> list[DueItem]:
    """Everything of the plant that has a date, whenever that is."""
    day = plant_day(at, site)
    return [
        *_calibrations(site),
        *_bottles(site),
        *_lots(site, day),
        *_competences(site),
        *_checks(site, at),
        *_drifting(site, at),
        *due_comparisons(site, at),
        *due_budgets(site, at),
    ]


def due_rows(site: Site, at: datetime, of: Iterable[str] | None = None, days_ahead: int = 30) -> list[DueRow]:
    """What is overdue or due soon, the most overdue first.

    of: the objects asked about, by their names in the ledger; None is the whole plant.
    """
    refs = None if of is None else set(of)
    items = [item for item in due_items(site, at) if refs is None or item.ref in refs]
    return [DueRow(due, page_of(due.item.ref)) for due in due_list(items, plant_day(at, site), days_ahead)]


def page_of(ref: str) -> str:
    """The page of an object from its name in the ledger."""
    kind, _, pk = ref.partition(":")
    return reverse(kind, args=[int(pk)])


def _calibrations(site: Site) -> Iterator[DueItem]:
    for instrument in Instrument.objects.filter(site=site, in_use=True).exclude(calibration_due=None):
        yield DueItem(f"Calibration of {instrument.name}", instrument.ref, instrument.calibration_due, "calibration")


def _bottles(site: Site) -> Iterator[DueItem]:
    """Open bottles; a bottle without a day of its own goes with its lot."""
    for bottle in bottles_of(site):
        lot = bottle.solution_lot
        if bottle.opened_at is None or bottle.discarded_at is not None or faults_of_lot(lot):
            continue
        if bottle.discard_on is not None and bottle.discard_on < lot.expires_on:
            yield DueItem(f"Bottle {bottle.code} of {lot}", bottle.ref, bottle.discard_on, "to be discarded")


def _drifting(site: Site, at: datetime) -> Iterator[DueItem]:
    """Bottles and instruments that the ledger of bottles says move: today, since every check counts on them."""
    ledger, day = ledger_of(site, at), plant_day(at, site)
    if ledger is None or not ledger.movements:
        return
    bottles = {called(bottle): bottle for bottle in bottles_of(site) if bottle.discarded_at is None}
    instruments = {one.name: one for one in Instrument.objects.filter(site=site, in_use=True)}
    for movement in ledger.movements:
        for kind, what, known in (("bottle", "Bottle", bottles), ("instrument", "Drift of", instruments)):
            names = dict.fromkeys(cause.name for cause in movement.causes if cause.kind == kind)
            for name in names:
                if name in known:
                    yield DueItem(f"{what} {name}", known[name].ref, day, movement.words)


def _lots(site: Site, day: date) -> Iterator[DueItem]:
    """Lots that hold a bottle still; one whose bottles are all discarded asks for nothing."""
    found = SolutionLot.objects.filter(site=site, withdrawn_reason="").prefetch_related("bottles", "weighings")
    for lot in found.order_by("pk"):
        bottles = list(lot.bottles.all())
        used_up = bottles and all(bottle.discarded_at is not None for bottle in bottles)
        if not used_up and not faults_of_lot(lot):
            yield DueItem(f"{lot}", lot.ref, lot.expires_on, "expired" if lot.expires_on < day else "expires")


def _competences(site: Site) -> Iterator[DueItem]:
    """The last one of each person and method counts; nobody who left is due."""
    last: dict[tuple[int, int], Competence] = {}
    found = Competence.objects.filter(person__site=site, person__is_active=True).select_related("person", "method")
    for competence in found.order_by("lapses_on", "pk"):
        last[competence.person_id, competence.method_id] = competence
    for competence in last.values():
        person, method = competence.person, competence.method
        yield DueItem(f"Competence of {person} for {method}", person.ref, competence.lapses_on, "competence lapses")


def _checks(site: Site, at: datetime) -> Iterator[DueItem]:
    """An instrument that may not measure is due for a check today; one that may, when its check ends."""
    day = plant_day(at, site)
    for standing in standings(site, at):
        instrument, gate = standing.instrument, standing.gate
        if not instrument.in_use:
            continue
        what = f"Check of {instrument.name}"
        if gate.allowed and gate.check is not None:
            yield DueItem(what, instrument.ref, plant_day(gate.check.until, site), "the last check ends")
        else:
            yield DueItem(what, instrument.ref, day, " ".join(gate.reasons[:1]))
