"""The laboratory's own data behind a budget: one instrument and one product's range at a time."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from decimal import Decimal
from typing import Any
from zoneinfo import ZoneInfo

from django.db.models import Exists, Max, OuterRef, Q

from isohume.bench.decision.own_data import CheckedReference, OwnData
from isohume.bench.reading.runs import ESTIMATE
from isohume.outlets.site.adjustments.models import MOVES, ScaleChange
from isohume.outlets.site.bench.models import AT_REST, Run
from isohume.outlets.site.bench.moments import plant_day
from isohume.outlets.site.checks.bottles import called
from isohume.outlets.site.checks.hints import named
from isohume.outlets.site.checks.models import Check, CheckReading
from isohume.outlets.site.checks.standing_of import limits_of
from isohume.outlets.site.register.bottle_life import deviation_of
from isohume.outlets.site.register.models import Instrument, MethodVersion, SpecificationVersion

QUARTER = timedelta(days=91)
YEAR = timedelta(days=365)
UNKNOWN_STEP = 0.001


@dataclass(frozen=True, slots=True)
class Window:
    """The days that data are taken from: whole days of the plant, so that a proposal holds still for a day."""

    first: date
    last: date
    start: datetime
    end: datetime


def window(version: MethodVersion, at: datetime, back: timedelta) -> Window:
    """The days up to and with today."""
    site = version.method.site
    last = plant_day(at, site)
    first, zone = last - back, ZoneInfo(site.time_zone)
    return Window(
        first,
        last,
        datetime.combine(first, time.min, zone),
        datetime.combine(last + timedelta(days=1), time.min, zone),
    )


@dataclass(frozen=True, slots=True)
class Gathered:
    """What was read under a method in a window, fetched once for all instruments and products."""

    version: MethodVersion
    window: Window
    checks: list[Check]
    repeats: dict[tuple[int, str], list[float]]
    runs: list[Run]

    @property
    def instruments(self) -> list[Instrument]:
        """The instruments checked under the method, by name."""
        found = {check.instrument_id: check.instrument for check in self.checks}
        return sorted(found.values(), key=lambda instrument: instrument.name)


def gather(version: MethodVersion, at: datetime, back: timedelta) -> Gathered:
    """Passed checks and counted runs of a method, whichever of its versions; in five queries."""
    found = window(version, at, back)
    within = {"last_read_at__gte": found.start, "last_read_at__lt": found.end}
    of_method = {"method_version__method": version.method_id}
    checks = Check.objects.filter(voided_at=None, passed=True, **of_method, **within).select_related("instrument")
    scale = scale_since(version, found)
    ordered = checks.order_by("last_read_at", "pk")
    listed = [check for check in ordered if check.first_read_at >= scale.get(check.instrument_id, found.start)]
    return Gathered(version, found, listed, _repeats(listed), _runs(version, found))


def scale_since(version: MethodVersion, found: Window) -> dict[int, datetime]:
    """Since when each instrument speaks on its present scale: checks from before say nothing of its bias now."""
    changes = ScaleChange.objects.filter(instrument__site=version.method.site, kind__in=MOVES, at__lt=found.end)
    return dict(changes.values_list("instrument").annotate(last=Max("at")))


def _repeats(checks: Sequence[Check]) -> dict[tuple[int, str], list[float]]:
    """Bottles that were read more than once in one check."""
    twice = [check.pk for check in checks if any(solution["n"] > 1 for solution in check.result["solutions"])]
    found: dict[tuple[int, str], list[float]] = defaultdict(list)
    for one in CheckReading.objects.filter(of_check__in=twice).select_related("bottle__solution_lot"):
        deviation = deviation_of(one)
        if deviation is not None:
            found[one.of_check_id, called(one.bottle)].append(deviation)
    return {key: values for key, values in found.items() if len(values) > 1}


def _runs(version: MethodVersion, found: Window) -> list[Run]:
    """The first counted read of each cup: a re-read is no replicate, and nothing of unknown end is an estimate's."""
    early = Run.objects.filter(portion=OuterRef("portion"), void_reason="", corrected_by=None, stopped=ESTIMATE)
    runs = Run.objects.filter(
        ~Q(stopped="") | ~Exists(early),
        AT_REST,
        method_version__method=version.method_id,
        void_reason="",
        corrected_by=None,
        read_at__gte=found.start,
        read_at__lt=found.end,
    ).exclude(second_keyings__agrees=False)  # keyed twice and not alike: what it read is not known
    runs = runs.select_related("portion__sample__lot__product")
    first: dict[int, Run] = {}
    for run in runs.order_by("read_at", "pk"):
        first.setdefault(run.portion_id, run)
    return list(first.values())


def own_data(gathered: Gathered, instrument: Instrument, spec: SpecificationVersion, enough: int) -> OwnData:
    """The data of one instrument in the range of one product.

    enough: degrees of freedom of replicates below which those of all products of the method are pooled.
    """
    mine = [check for check in gathered.checks if check.instrument_id == instrument.pk]
    opening = [check for check in mine if check.kind == "opening"]
    of_mine = {check.pk for check in mine}
    runs = [run for run in gathered.runs if run.instrument_id == instrument.pk]
    version = gathered.version
    low, high = range_of(spec)
    portions = _portions([run for run in runs if run.portion.sample.lot.product_id == spec.product_id])
    if sum(len(group) - 1 for group in portions) < enough:
        portions = _portions(gathered.runs)
    return OwnData(
        checked=tuple(row for check in opening for row in _checked(check)),
        low=low,
        high=high,
        temperature_c=float(version.temperature_c),
        closing=tuple(_closing(mine)),
        repeats=tuple(tuple(values) for (check, _), values in gathered.repeats.items() if check in of_mine),
        portions=portions,
        block_offset_k=tuple(
            float(run.block_temperature_c) - float(version.temperature_c) for run in runs if run.block_temperature_c
        ),
        block_tolerance_k=float(version.temperature_tolerance_c),
        check_interval_h=float(version.check_interval_h),
        resolution=resolution_of(run.a_w for run in runs),
    )


def resolution_of(typed: Iterable[str]) -> float:
    """The step that most readings have, the coarser of two that are as many: one value typed short is no resolution."""
    steps = Counter(_step(one) for one in typed)
    return max(steps, key=lambda step: (steps[step], step), default=UNKNOWN_STEP)


def range_of(spec: SpecificationVersion) -> tuple[float, float]:
    """Where the product is judged: its limits, and where a lot is expected."""
    found = [float(limit.value) for limit in limits_of(spec)]
    if spec.expected_a_w:
        found.append(float(spec.expected_a_w))
    return min(found), max(found)


def _checked(check: Check) -> list[CheckedReference]:
    return [
        CheckedReference(
            check=str(check.pk),
            solution=_named(solution),
            day=check.last_read_at.timestamp() / 86400.0,
            expected=solution["expected"],
            deviation=solution["deviation"],
            u_reference=solution["u_reference"],
            n=solution["n"],
        )
        for solution in check.result["solutions"]
    ]


def _named(solution: dict[str, Any]) -> str:
    return named(solution["solution"], solution["molality"])


def _closing(checks: Sequence[Check]) -> list[float]:
    """Closing minus opening deviation of each reference, against the last opening check before it."""
    found: list[float] = []
    opened: dict[str, float] = {}
    for check in checks:
        deviations = {_named(solution): solution["deviation"] for solution in check.result["solutions"]}
        if check.kind == "opening":
            opened = deviations
        else:
            found += [off - opened[name] for name, off in deviations.items() if name in opened]
    return found


def _portions(runs: Sequence[Run]) -> tuple[tuple[float, ...], ...]:
    """The portions of each sample, on one instrument each."""
    found: dict[tuple[int, int], list[float]] = defaultdict(list)
    for run in runs:
        found[run.portion.sample_id, run.instrument_id].append(float(run.a_w))
    return tuple(tuple(values) for values in found.values() if len(values) > 1)


def _step(typed: str) -> float:
    """The last digit of a number as typed."""
    exponent = Decimal(typed).as_tuple().exponent
    return float(10.0**exponent) if isinstance(exponent, int) else UNKNOWN_STEP
