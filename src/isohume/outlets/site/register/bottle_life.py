"""Does a bottle still read true? Its readings, its siblings' in the same checks, and the ledger of all bottles."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from functools import lru_cache
from zoneinfo import ZoneInfo

from django.db import connection
from django.db.models import Count, Max, QuerySet

from isohume.bench.assurance.bottle_findings import BottleLedger, BottleReading, Movement, OwnSlope
from isohume.bench.assurance.bottle_ledger import bottle_ledger
from isohume.foundation.quantity.errors import InputError
from isohume.foundation.solutions import reference_value
from isohume.outlets.paper.time_spec import PointState, TimePoint
from isohume.outlets.site.adjustments.models import ScaleChange
from isohume.outlets.site.checks.bottles import called
from isohume.outlets.site.checks.models import CheckReading
from isohume.outlets.site.people.models import Site
from isohume.outlets.site.register.drift import LEDGER_DAYS
from isohume.outlets.site.register.models import Bottle
from isohume.outlets.site.register.pictures import Chart, chart_of

MOST_READINGS = 200
DAY = timedelta(days=1)
_TEMPERATURE_SLOPE = 0.0031
"""The steepest reference, NaBr, changes so much a kelvin: a temperature kept to 0.1 K adds a tenth of it at most."""
_TEMPERATURE_STEP_K = 0.1


@dataclass(frozen=True, slots=True)
class BottleAnswer:
    """What is said of a bottle: a word with its mark, sentences, its own slope."""

    word: str
    shape: str
    words: tuple[str, ...]
    own: OwnSlope | None


@lru_cache(maxsize=4096)
def _expected(solution: str, temperature_c: str, molality: str) -> float | None:
    try:
        return reference_value(solution, float(temperature_c), float(molality) if molality else None).a_w
    except InputError:
        return None


def deviation_of(reading: CheckReading) -> float | None:
    """How far a reading was from its solution's value at its own temperature; None beyond the solution's range."""
    lot = reading.bottle.solution_lot
    expected = _expected(lot.solution, reading.temperature_c, lot.molality)
    return None if expected is None else float(reading.a_w) - expected


def ledger_of(site: Site, until: datetime, days: int = LEDGER_DAYS) -> BottleLedger | None:
    """The ledger of a plant's bottles over some days, in three queries; None where nothing was read."""
    found = CheckReading.objects.filter(
        of_check__instrument__site=site,
        of_check__voided_at=None,
        of_check__last_read_at__gt=until - timedelta(days=days),
        of_check__last_read_at__lte=until,
    )
    adjusted = _adjusted(site)
    last = found.aggregate(count=Count("pk"), last=Max("pk"))
    known = (
        str(connection.settings_dict["NAME"]),
        site.pk,
        last["count"],
        last["last"],
        sum(map(len, adjusted.values())),
    )
    if last["count"] == 0:
        return None
    if known not in _KEPT:
        if len(_KEPT) >= MOST_KEPT:
            _KEPT.clear()
        _KEPT[known] = _ledger(found, adjusted)
    return _KEPT[known]


_KEPT: dict[tuple[object, ...], BottleLedger | None] = {}
"""Readings are never changed: the same number of them up to the same last one is the same ledger."""
MOST_KEPT = 32


def _ledger(found: QuerySet[CheckReading], adjusted: Mapping[int, Sequence[datetime]]) -> BottleLedger | None:
    rows = found.order_by("of_check__last_read_at", "pk").values_list(
        "of_check", "of_check__last_read_at", "of_check__limit", "of_check__instrument", "of_check__instrument__name",
        "bottle__code", "bottle__solution_lot__code", "bottle__solution_lot__solution",
        "bottle__solution_lot__molality", "temperature_c", "a_w", "read_at",
    )  # fmt: skip
    readings, limits = [], []
    for check, at, limit, key, instrument, code, lot, solution, molality, temperature, a_w, read_at in rows:
        expected = _expected(solution, temperature, molality)
        if expected is None:
            continue
        limits.append(float(limit))
        readings.append(
            BottleReading(
                bottle=f"{lot} / {code}",
                solution=solution + (f" {molality} mol/kg" if molality else ""),
                instrument=instrument,
                check=str(check),
                day=at.timestamp() / DAY.total_seconds(),
                deviation=float(a_w) - expected,
                u=_least_u(a_w),
                epoch=str(sum(change <= read_at for change in adjusted.get(key, ()))),
            )
        )
    return bottle_ledger(readings, min(limits)) if readings else None


def _adjusted(site: Site) -> dict[int, list[datetime]]:
    """When each instrument itself was adjusted or serviced; a correction changes no reading."""
    found: dict[int, list[datetime]] = defaultdict(list)
    changes = ScaleChange.objects.filter(instrument__site=site, kind__in=("adjusted", "serviced"))
    for instrument, at in changes.values_list("instrument", "at"):
        found[instrument].append(at)
    return found


def _least_u(a_w: str) -> float:
    """What a reading's last digit and its temperature's leave open."""
    step, temperature = 10.0 ** -len(a_w.partition(".")[2]), _TEMPERATURE_SLOPE * _TEMPERATURE_STEP_K
    return float(((step**2 + temperature**2) / 12.0) ** 0.5)


def bottle_answer(bottle: Bottle, ledger: BottleLedger | None) -> BottleAnswer:
    """Bottle or instrument, said of one bottle."""
    name = called(bottle)
    own = next((one for one in ledger.bottles if one.bottle == name), None) if ledger else None
    about = ledger.about("bottle", name) if ledger else ()
    words = tuple(movement.words for movement in about)
    if ledger and ledger.flagged("bottle", name):
        return BottleAnswer("drifts: bottle, not instrument", "due", (*words, _until_limit(about[0])), own)
    if about:
        return BottleAnswer("moves: cannot be told apart", "due", words, own)
    smallest = ledger.would_show("bottle", name) if ledger else None
    if ledger is None or own is None or own.slope_a_day is None or smallest is None:
        few = (
            f"Read in {own.checks if own else 0} checks of the last {LEDGER_DAYS} days: too few to see even a drift "
            "that used up the limit of the check."
        )
        return BottleAnswer("not known yet", "unknown", (few,), own)
    return BottleAnswer("no drift to be seen", "pass", (_steady(own, ledger, smallest),), own)


def _until_limit(movement: Movement) -> str:
    if movement.days_to_limit == 0:
        return "It has used up the limit of the check: discard it and open another."
    days = round(movement.days_to_limit)
    left = "within a day" if days < 1 else "in 1 day" if days == 1 else f"in {days} days"
    return f"At this pace the limit of the check is used up {left}: open another."


def _steady(own: OwnSlope, ledger: BottleLedger, smallest: float) -> str:
    against = "its siblings taken into account" if own.siblings else "with no sibling to hold it against"
    shows = f"one of {smallest:.4f} a day would stand out"
    moved = [cause.words for one in ledger.movements if one.kind == "instrument" for cause in one.causes]
    also = f" What moves is {', '.join(moved)}." if moved else ""
    return f"{own.slope_a_day:+.5f} a day (u {own.u_slope:.5f}) over {own.days:.0f} days, {against}; {shows}.{also}"


def bottle_how(ledger: BottleLedger | None, own: OwnSlope | None) -> dict[str, object]:
    """How the ledger found it."""
    scatter = ledger.scatter if ledger else {}
    inputs = [
        (
            f"Scatter of {name}",
            f"{one.s_reading:.5f} a reading, {one.s_check:.5f} a check, {one.dof:.0f} degrees of freedom",
        )
        for name, one in sorted(scatter.items())
    ]
    if own is not None:
        inputs += [
            ("Siblings", ", ".join(own.siblings) or "none"),
            ("Own baseline", f"{own.first_deviation:+.4f} at first"),
        ]
    return {
        "formula": "deviation = baseline(bottle, instrument) + slope · days since onset + check + scatter; "
        "beyond chance: |slope| > t · u(slope); named: fits 19 times better than any other cause",
        "inputs": inputs,
        "range": "movements that would use up the limit of the check within 30 days; at most 0.1 false alarms a year",
        "depends": "siblings: a bottle alone on one instrument cannot be told from it",
        "source": "none: likelihood ratio over onsets; false alarms by simulation in docs/proof/bottles.md",
    }


def bottle_chart(bottle: Bottle) -> Chart | None:
    """The deviations of a bottle's readings in time, each with its instrument; None before it was read."""
    found = _points(bottle, list(_readings_of(bottle)))
    return _chart(found, f"Deviations of bottle {bottle.code} of {bottle.solution_lot.name}")


def sibling_chart(bottle: Bottle) -> Chart | None:
    """Each reading less the mean of its siblings in the same check: what the instrument did is gone from it."""
    mine = list(_readings_of(bottle))
    lot = bottle.solution_lot
    others = CheckReading.objects.filter(
        of_check__in={one.of_check_id for one in mine},
        bottle__solution_lot__solution=lot.solution,
        bottle__solution_lot__molality=lot.molality,
    ).exclude(bottle=bottle)
    means: dict[int, list[float]] = defaultdict(list)
    for one in others.select_related("bottle__solution_lot"):
        deviation = deviation_of(one)
        if deviation is not None:
            means[one.of_check_id].append(deviation)
    beside = {check: sum(found) / len(found) for check, found in means.items()}
    found = _points(bottle, [one for one in mine if one.of_check_id in beside], beside)
    return _chart(found, f"Bottle {bottle.code} of {lot.name} against its siblings")


def _readings_of(bottle: Bottle) -> list[CheckReading]:
    readings = CheckReading.objects.filter(bottle=bottle).select_related("bottle__solution_lot", "of_check__instrument")
    return list(readings.defer("of_check__result").order_by("-read_at")[:MOST_READINGS])


def _points(
    bottle: Bottle, readings: list[CheckReading], beside: dict[int, float] | None = None
) -> tuple[list[TimePoint], list[float]]:
    zone = ZoneInfo(bottle.solution_lot.site.time_zone)
    points, limits = [], []
    for reading in readings:
        deviation = deviation_of(reading)
        if deviation is None:
            continue
        value = deviation - (beside or {}).get(reading.of_check_id, 0.0)
        check = reading.of_check
        limits.append(float(check.limit))
        state: PointState = "void" if check.voided_at else "within" if abs(value) <= limits[-1] else "beyond"
        points.append(TimePoint(reading.read_at.astimezone(zone), value, state, check.instrument.name))
    return points, limits


def _chart(found: tuple[list[TimePoint], list[float]], title: str) -> Chart | None:
    points, limits = found
    return chart_of(points, (), max(limits), title) if points else None
