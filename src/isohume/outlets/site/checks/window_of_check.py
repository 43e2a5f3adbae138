"""The window of a failed check, asked of the site's checks with the bench's own rule."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import datetime
from typing import Any

from django.db.models import Exists, OuterRef, Q, QuerySet

from isohume.bench.assurance.bias import BiasPoint
from isohume.bench.assurance.check import within_limit
from isohume.bench.assurance.correction import Correction as Line
from isohume.bench.assurance.look_back import PastCheck, ReferenceInCheck, Window, window_of
from isohume.outlets.site.adjustments.queries import last_change
from isohume.outlets.site.bench.models import Run
from isohume.outlets.site.checks.hints import named
from isohume.outlets.site.checks.models import Check
from isohume.outlets.site.checks.queries import WEIGHS
from isohume.outlets.site.checks.stated import Stated
from isohume.outlets.site.register.models import Method

AT_A_TIME = 20
METHOD = "method_version__method"
COLUMNS = ("pk", "kind", "first_read_at", "last_read_at", "covers_low", "covers_high", METHOD)


def window_of_check(check: Check) -> Window:
    """The window of a failed check: few checks are read, those about it until the range that failed is covered.

    Raises: InputError where the check passed or is void.
    """
    bare = window_of(_past(check), references_of(check), (), scale=scale_of_check(check))
    own = _passed(check)
    about = [past for method in _methods(check, own) for past in _of_method(bare, check, own, method)]
    last = window_of(bare.failed, bare.references, about).last_good
    changed = _changed_scale(check, last.first_read_at if last else None)
    return window_of(bare.failed, bare.references, about, changed, bare.scale)


def _of_method(bare: Window, check: Check, passed: QuerySet[Check], method: int) -> list[PastCheck]:
    """The good checks of one method about a failed one, nearest first on both sides."""

    def since(taken: list[PastCheck]) -> datetime | None:
        return window_of(bare.failed, bare.references, taken).since_of(method)

    def until(taken: list[PastCheck]) -> datetime | None:
        return window_of(bare.failed, bare.references, [*before, *taken]).until_of(method)

    under = passed.filter(**{METHOD: method})
    # it was entered before the failure was known; what is typed afterwards cannot speak for what was read before
    earlier = under.filter(last_read_at__lt=check.first_read_at, entered_at__lt=check.entered_at)
    before = _enough(earlier.order_by("-last_read_at", "-pk"), since)
    # the second condition follows from the first, and lets the index of instrument and time begin there
    later = under.filter(first_read_at__gt=check.last_read_at, last_read_at__gt=check.last_read_at)
    return [*before, *_enough(later.order_by("last_read_at", "pk"), until)]


def late_checks(check: Check, window: Window) -> list[Check]:
    """The checks that passed before a failed one and would shrink its list, had they not been entered after it."""
    late = _passed(check).filter(last_read_at__lt=check.first_read_at, entered_at__gte=check.entered_at)
    late = late.filter(**{f"{METHOD}__in": window.methods}).exclude(pk=check.pk)
    if window.since is not None:
        late = late.filter(last_read_at__gt=window.since)
    return list(late.select_related("instrument__site").order_by("last_read_at", "pk")[:AT_A_TIME])


def _passed(check: Check) -> QuerySet[Check]:
    """The checks of its instrument that protect something."""
    return Check.objects.filter(
        WEIGHS, instrument=check.instrument_id, passed=True, covers_low__isnull=False, covers_high__isnull=False
    )


def _methods(check: Check, passed: QuerySet[Check]) -> list[int]:
    """The methods the instrument was ever checked under, that of the failed check first.

    Asked method by method: each answer ends at the first check found, where a list of all would read years of them.
    """
    own: int = check.method_version.method_id
    under = Exists(passed.filter(**{METHOD: OuterRef("pk")}))
    others = Method.objects.filter(under, site=check.instrument.site_id).exclude(pk=own)
    return [own, *others.order_by("pk").values_list("pk", flat=True)]


def _changed_scale(check: Check, since: datetime | None) -> datetime | None:
    """The last change of scale before a failed check, where another check since the last good one answers for before.

    A deviation found on the new scale says nothing of what was read on the old one: the as-found check does.
    """
    change = last_change(check.instrument, check.first_read_at)
    if change is None or (since is not None and change.at <= since):
        return None
    found = Check.objects.filter(WEIGHS, instrument=check.instrument_id, passed=False, last_read_at__lte=change.at)
    as_found = found.filter(last_read_at__gt=since) if since is not None else found
    return change.at if as_found.exists() else None


def _enough(found: QuerySet[Check], reaches: Callable[[list[PastCheck]], datetime | None]) -> list[PastCheck]:
    """The nearest checks until together they cover the range that failed."""
    taken: list[PastCheck] = []
    rows = found.values(*COLUMNS)
    for begin in range(0, 1 << 30, AT_A_TIME):
        page = [_of_row(row) for row in rows[begin : begin + AT_A_TIME]]
        taken += page
        if len(page) < AT_A_TIME or reaches(taken) is not None:
            return taken
    return taken


def scale_of_check(check: Check) -> str:
    """The correction that a check was judged with, by its name in the ledger; empty where it was judged as read."""
    return str(check.result.get("correction", ""))


def references_of(check: Check) -> Iterator[ReferenceInCheck]:
    """The references of a check; one with a single reading beyond the limit was not within, whatever its mean.

    None where a correction was in force and no reference lay in its span: the check then failed everywhere.
    """
    for s in check.result["solutions"]:
        within = s["within"] and within_limit(s["largest_deviation"], check.result["limit"])
        yield ReferenceInCheck(named(s["solution"], s["molality"]), s["expected"], within, s["deviation"])


def bias_points(check: Check) -> list[BiasPoint]:
    """The references of a check with their deviations, on the scale it was judged on."""
    own = scale_of_check(check)
    return bias_points_on(check, Stated(check.instrument_id).line_named(own) if own else None)


def bias_points_on(check: Check, line: Line | None) -> list[BiasPoint]:
    """The references of a check on the scale of a correction, or as read: what it makes of what the instrument read.

    The references the check was judged by, or all of them where none was; the instrument's own u is what they share.
    """
    common = float(check.u_instrument)
    judged = {(s["solution"], s["molality"]) for s in check.result["solutions"]}
    as_read = check.result.get("as_read", check.result)["solutions"]
    return [
        BiasPoint(
            named(s["solution"], s["molality"]),
            s["expected"],
            s["deviation"] if line is None else line.on_line(s["mean"]) - s["expected"],
            s["u_deviation"],
            min(common, s["u_deviation"]),
        )
        for s in as_read
        if not judged or (s["solution"], s["molality"]) in judged
    ]


def runs_between(check: Check, window: Window) -> QuerySet[Run]:
    """The runs of the instrument in the window's stretch of time; the rule decides about each by its a_w."""
    runs = Run.objects.filter(instrument=check.instrument_id)
    if len(window.methods) == 1:
        return runs.filter(_between(window.since, window.until))
    stretches = Q()
    for method in window.methods:
        stretches |= Q(**{METHOD: method}) & _between(window.since_of(method), window.until_of(method))
    return runs.filter(stretches)


def _between(since: datetime | None, until: datetime | None) -> Q:
    later = Q() if since is None else Q(read_at__gt=since)
    return later if until is None else later & Q(read_at__lt=until)


def at_risk(check: Check, window: Window, runs: QuerySet[Run]) -> list[dict[str, Any]]:
    """The runs the window puts at risk, void ones too, with their lots, oldest first."""
    stated = Stated(check.instrument_id)
    columns = runs.order_by("read_at", "pk").values("pk", "a_w", "read_at", METHOD, "portion__sample__lot")
    return [
        row for row in columns if window.puts_at_risk(stated.reading(float(row["a_w"]), row["read_at"], row[METHOD]))
    ]


def _past(check: Check) -> PastCheck:
    row = {name: getattr(check, name) for name in COLUMNS if name != METHOD}
    row[METHOD] = check.method_version.method_id
    return replace(_of_row(row), passed=check.passed, void=check.voided_at is not None)


def _of_row(row: dict[str, Any]) -> PastCheck:
    low, high = row["covers_low"], row["covers_high"]
    covers = None if low is None or high is None else (low, high)
    return PastCheck(
        row["pk"], row["kind"], row["first_read_at"], row["last_read_at"], True, covers, method=row[METHOD]
    )
