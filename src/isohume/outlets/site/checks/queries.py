"""The questions asked of checks: which one protects a reading, may an instrument measure now, how long still."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, time, timedelta
from decimal import Decimal
from zoneinfo import ZoneInfo

from django.db.models import Count, Max, OuterRef, Q, QuerySet, Subquery
from django.utils import timezone

from isohume.bench.assurance import may_measure_now
from isohume.foundation.quantity.limits import Limit
from isohume.outlets.site.adjustments.models import OUT_OF_USE, RETURNED, ScaleChange
from isohume.outlets.site.adjustments.queries import changed_between, last_change, out_of_use_since, words_against
from isohume.outlets.site.bench.moments import plant_day, shown_at
from isohume.outlets.site.checks.giving import DECIDES, words_against_giving
from isohume.outlets.site.checks.giving import WEIGHS as WEIGHS
from isohume.outlets.site.checks.models import Check, Cleaning, StartSheet
from isohume.outlets.site.checks.standing_of import guard_band, limits_of, standing_of
from isohume.outlets.site.people.models import Site
from isohume.outlets.site.register.models import Instrument, Method, MethodVersion, SpecificationVersion


@dataclass(frozen=True, slots=True)
class Gate:
    """Whether an instrument may measure at a moment, every reason, the check it rests on, and the hours left."""

    allowed: bool
    reasons: tuple[str, ...]
    check: Check | None
    hours_left: float


@dataclass(frozen=True, slots=True)
class StandingNow:
    """An instrument with its gate, as lists and the a_w line show it."""

    instrument: Instrument
    gate: Gate

    @property
    def covers(self) -> tuple[float, float] | None:
        """The range in which it may speak now; None where it may not measure."""
        check = self.gate.check
        if not self.gate.allowed or check is None or check.covers_low is None or check.covers_high is None:
            return None
        return check.covers_low, check.covers_high

    @property
    def left(self) -> str:
        """The time left, in words."""
        minutes = int(60 * self.gate.hours_left)
        return f"{minutes // 60} h {minutes % 60:02d} min left" if self.gate.allowed else "none left"

    @property
    def word(self) -> str:
        """The state in one word or two, for marks and lists."""
        if self.gate.allowed:
            return "may measure"
        return "out of use" if not self.instrument.in_use else "may not measure"


def check_in_force(instrument: Instrument, at: datetime) -> Check | None:
    """The last check before a moment that gave the instrument its standing or took it away; void ones do not count.

    One that passed counts only where it began after every failed one had ended, and read all that failed.
    """
    found = Check.objects.filter(DECIDES, instrument=instrument, last_read_at__lte=at)
    return found.select_related("instrument__site").order_by("-last_read_at", "passed", "-pk").first()


def protecting_check(instrument: Instrument, at: datetime) -> Check | None:
    """The opening check that protects a reading at a moment: passed, no failed check since, its hours not over.

    A change of scale after it takes its standing away, and so does being taken out of use.
    """
    check = check_in_force(instrument, at)
    if check is None or not check.passed or at > check.until:
        return None
    return check if changed_between(instrument, check.last_read_at, at) is None else None


def gate(
    instrument: Instrument,
    at: datetime,
    specification: SpecificationVersion | None = None,
    method: MethodVersion | None = None,
) -> Gate:
    """May this instrument measure at this moment, for this specification, and every reason why not.

    method: the version the reading will be made under; without it, the one of the specification's product.
    """
    check = check_in_force(instrument, at)
    opening = _last_opening(instrument, at) if check is None or not check.passed else None
    cleanings = Cleaning.objects.filter(instrument=instrument, at__lte=at).order_by("-at")
    if method is None and specification is not None:
        method = specification.product.method.current
    changed, out_since = last_change(instrument, at), out_of_use_since(instrument, at)
    known = _Known(
        decides=check,
        opening=opening,
        cleaned_at=cleanings.values_list("at", flat=True).first(),
        moved=None if changed is None else (changed.at, changed.words),
        out_since=out_since,
    )
    return _gate(instrument, at, known, specification, method)


def standings(site: Site, at: datetime) -> list[StandingNow]:
    """Every instrument of a plant that is in use or was checked, by name, in two queries."""
    checks = Check.objects.filter(WEIGHS, instrument=OuterRef("pk"), last_read_at__lte=at)
    decides = checks.filter(DECIDES).order_by("-last_read_at", "passed", "-pk").values("pk")[:1]
    opening = checks.filter(kind="opening").order_by("-last_read_at", "-pk").values("pk")[:1]
    cleaned = Cleaning.objects.filter(instrument=OuterRef("pk"), at__lte=at).order_by("-at").values("at")[:1]
    changes = ScaleChange.objects.filter(instrument=OuterRef("pk"), at__lte=at).order_by("-at", "-pk")
    use = changes.filter(kind__in=(OUT_OF_USE, RETURNED))
    events = {"moved_at": (changes, "at"), "moved": (changes, "words"), "use_at": (use, "at"), "use": (use, "kind")}
    instruments = list(
        Instrument.objects.filter(site=site)
        .select_related("site")
        .annotate(decides=Subquery(decides), opening=Subquery(opening), cleaned=Subquery(cleaned))
        .annotate(**{name: Subquery(rows.values(column)[:1]) for name, (rows, column) in events.items()})
        .order_by("-in_use", "name")
    )
    found = Check.objects.in_bulk({pk for i in instruments for pk in (i.decides, i.opening) if pk is not None})
    out = []
    for one in instruments:
        decisive, opened = found.get(one.decides), found.get(one.opening)
        for check in (decisive, opened):
            if check is not None:
                check.instrument = one
        changed = None if one.moved_at is None else (one.moved_at, one.moved)
        out_since = one.use_at if one.use == OUT_OF_USE else None
        known = _Known(decisive, opened, one.cleaned, changed, out_since)
        out.append(StandingNow(one, _gate(one, at, known)))
    return out


def start_sheet_of_day(instrument: Instrument, method: Method, at: datetime, by: datetime) -> StartSheet | None:
    """The last start sheet of the plant's day of a moment, filled in not later than `by`.

    Readings of a night are entered after midnight too: the sheet of their own day counts then, not the newer one.
    """
    day, zone = plant_day(at, instrument.site), ZoneInfo(instrument.site.time_zone)
    begins, ends = (datetime.combine(one, time(), zone) for one in (day, day + timedelta(days=1)))
    sheets = StartSheet.objects.filter(instrument=instrument, method_version__method=method, at__lte=by)
    return sheets.filter(at__gte=begins, at__lt=ends).order_by("-at", "-pk").first()


def closing_check(opening: Check, after: datetime) -> Check | None:
    """The check that tells whether readings until `after` were still true: the next closing or failed one.

    A check that failed among the readings decides, whenever it was entered. A passed opening check of the next
    morning closes nothing; a failed one must not be passed over.
    """
    since = Check.objects.filter(WEIGHS, instrument=opening.instrument_id, last_read_at__gte=opening.last_read_at)
    later = since.exclude(pk=opening.pk).order_by("first_read_at", "pk")
    within = later.filter(passed=False, first_read_at__lt=after).first()
    if within is not None:
        return within
    found = later.filter(first_read_at__gte=after).first()
    if found is not None and found.passed:
        # one that failed before this one ended is not outvoted by it
        beside = later.filter(passed=False, first_read_at__gte=after, first_read_at__lte=found.last_read_at)
        found = beside.first() or found
    return None if found is None or (found.kind == "opening" and found.passed) else found


def not_closed(found: list[StandingNow]) -> list[tuple[StandingNow, int]]:
    """The instruments that read samples since their opening check and have no closing check after them, with how many.

    found: the standings of a plant now. Two queries.
    """
    opened = {s.gate.check.pk: s for s in found if s.gate.allowed and s.gate.check is not None}
    runs = Check.objects.filter(pk__in=opened).annotate(
        read=Count("runs", filter=Q(runs__void_reason="")), last=Max("runs__read_at")
    )
    closed = dict(
        Check.objects.filter(WEIGHS, kind="closing", instrument__in=[s.instrument for s in opened.values()])
        .values_list("instrument")
        .annotate(last=Max("first_read_at"))
    )
    waiting = [(opened[c.pk], c.read) for c in runs.only("pk", "instrument") if c.read and not _covered(c, closed)]
    return sorted(waiting, key=lambda pair: pair[0].instrument.name)


def _covered(opened: Check, closed: dict[int, datetime]) -> bool:
    last = closed.get(opened.instrument_id)
    return last is not None and last >= opened.last


def last_checks(site: Site, most: int = 20) -> QuerySet[Check]:
    """The last checks of a plant, newest first, void ones too, without their full result."""
    found = Check.objects.filter(instrument__site=site).select_related("instrument", "by", "method_version__method")
    return found.defer("result").order_by("-last_read_at", "-pk")[:most]


def _last_opening(instrument: Instrument, at: datetime) -> Check | None:
    """One that covers no range: it gives no standing, and its reasons say why."""
    found = Check.objects.filter(WEIGHS, instrument=instrument, kind="opening", last_read_at__lte=at)
    return found.select_related("instrument__site").order_by("-last_read_at", "-pk").first()


@dataclass(frozen=True, slots=True)
class _Known:
    """What a gate is asked with: the check that decides, the last opening one, and what happened to the instrument."""

    decides: Check | None
    opening: Check | None
    cleaned_at: datetime | None
    moved: tuple[datetime, str] | None
    out_since: datetime | None

    @property
    def check(self) -> Check | None:
        return self.decides or self.opening

    @property
    def passed_over(self) -> list[str]:
        """Why the last opening check, though it passed, does not answer the failure before it."""
        failed, opening = self.decides, self.opening
        if failed is None or failed.passed or opening is None or not opening.may_measure:
            return []
        return list(words_against_giving(opening, failed.pk)) if opening.last_read_at >= failed.last_read_at else []


def _gate(
    instrument: Instrument,
    at: datetime,
    known: _Known,
    specification: SpecificationVersion | None = None,
    method: MethodVersion | None = None,
) -> Gate:
    check = known.check
    if not instrument.in_use:
        why = f" ({instrument.out_of_use_reason})" if instrument.out_of_use_reason else ""
        return Gate(False, (f"{instrument.name} is out of use{why}.",), check, 0.0)
    limits: tuple[Limit, ...] = ()
    guard = Decimal(0)
    if specification is not None and check is not None:
        limits, guard = limits_of(specification), guard_band(specification, method or check.method_version)
    standing = standing_of(check) if check is not None else None
    moment = at.astimezone(ZoneInfo(instrument.site.time_zone))
    asked = may_measure_now(standing, moment, limits, guard, known.cleaned_at, timezone.now())
    against = [*known.passed_over, *_against_scale(instrument, at, known)]
    against += under_another_method(check, method) if check is not None and method is not None else []
    if not against:
        return Gate(asked.allowed, asked.reasons, check, asked.hours_left)
    return Gate(False, tuple(against) if asked.allowed else (*asked.reasons, *against), check, 0.0)


def _against_scale(instrument: Instrument, at: datetime, known: _Known) -> list[str]:
    """Its check is from before a change of scale, or it was out of use at that moment."""
    if known.out_since is not None:
        return [f"{instrument.name} was out of use from {shown_at(known.out_since, instrument.site)} on."]
    check, moved = known.check, known.moved
    if check is None or moved is None or not check.last_read_at < moved[0] <= at:
        return []
    return [words_against(moved[1], moved[0], instrument)]


def under_another_method(check: Check, method: MethodVersion) -> list[str]:
    """Why a check does not protect readings of a method: it was made under another one."""
    made = check.method_version
    if made.method_id == method.method_id:
        return []
    named = f"Check {check.pk} of {check.instrument.name}"
    return [f"{named} was made under {made}: it does not protect readings under {method}."]
