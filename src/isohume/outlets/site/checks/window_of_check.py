"""The window of a failed check, asked of the site's checks with the bench's own rule."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import datetime
from typing import Any

from django.db.models import Q, QuerySet

from isohume.bench.assurance.bias import BiasPoint
from isohume.bench.assurance.check import within_limit
from isohume.bench.assurance.look_back import PastCheck, ReferenceInCheck, Window, uncovered, window_of
from isohume.outlets.site.adjustments.queries import last_change
from isohume.outlets.site.bench.models import Run
from isohume.outlets.site.checks.hints import named
from isohume.outlets.site.checks.models import Check
from isohume.outlets.site.checks.queries import WEIGHS

AT_A_TIME = 20
COLUMNS = ("pk", "kind", "first_read_at", "last_read_at", "covers_low", "covers_high")


def window_of_check(check: Check) -> Window:
    """The window of a failed check: few checks are read, those about it until the range that failed is covered.

    Raises: InputError where the check passed or is void.
    """
    failed, references = _past(check), list(references_of(check))
    own = Check.objects.filter(
        WEIGHS, instrument=check.instrument_id, passed=True, covers_low__isnull=False, covers_high__isnull=False
    )
    earlier = own.filter(last_read_at__lt=check.first_read_at).order_by("-last_read_at", "-pk")
    # the second condition follows from the first, and lets the index of instrument and time begin there
    since = {"first_read_at__gt": check.last_read_at, "last_read_at__gt": check.last_read_at}
    later = own.filter(**since).order_by("last_read_at", "pk")
    window = window_of(failed, references, ())
    before = _enough(earlier, window)
    changed = _changed_scale(check, before[0].first_read_at if before else None)
    return window_of(failed, references, [*before, *_enough(later, window)], changed)


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


def _enough(found: QuerySet[Check], window: Window) -> list[PastCheck]:
    """The nearest checks until together they cover the range that failed."""
    taken: list[PastCheck] = []
    rows = found.values(*COLUMNS)
    for begin in range(0, 1 << 30, AT_A_TIME):
        page = [_of_row(row) for row in rows[begin : begin + AT_A_TIME]]
        taken += page
        if len(page) < AT_A_TIME or not uncovered(window.failed_ranges, taken):
            return taken
    return taken


def references_of(check: Check) -> Iterator[ReferenceInCheck]:
    """The references of a check; one with a single reading beyond the limit was not within, whatever its mean."""
    for s in check.result["solutions"]:
        within = s["within"] and within_limit(s["largest_deviation"], check.result["limit"])
        yield ReferenceInCheck(named(s["solution"], s["molality"]), s["expected"], within)


def bias_points(check: Check) -> list[BiasPoint]:
    """The references of a check with their deviations; the instrument's own u is what they share."""
    common = float(check.u_instrument)
    return [
        BiasPoint(
            named(s["solution"], s["molality"]),
            s["expected"],
            s["deviation"],
            s["u_deviation"],
            min(common, s["u_deviation"]),
        )
        for s in check.result["solutions"]
    ]


def runs_between(check: Check, window: Window) -> QuerySet[Run]:
    """The runs of the instrument in the window's stretch of time; the rule decides about each by its a_w."""
    runs = Run.objects.filter(instrument=check.instrument_id)
    if window.since is not None:
        runs = runs.filter(read_at__gt=window.since)
    return runs.filter(read_at__lt=window.until) if window.until is not None else runs


def at_risk(window: Window, runs: QuerySet[Run], lots: Q | None = None) -> list[dict[str, Any]]:
    """The runs the window puts at risk, void ones too, with their lots, oldest first."""
    found = runs.filter(lots) if lots is not None else runs
    columns = found.order_by("read_at", "pk").values("pk", "a_w", "read_at", "portion__sample__lot")
    return [row for row in columns if window.puts_at_risk(float(row["a_w"]), row["read_at"])]


def _past(check: Check) -> PastCheck:
    row = {name: getattr(check, name) for name in COLUMNS}
    return replace(_of_row(row), passed=check.passed, void=check.voided_at is not None)


def _of_row(row: dict[str, Any]) -> PastCheck:
    low, high = row["covers_low"], row["covers_high"]
    covers = None if low is None or high is None else (low, high)
    return PastCheck(row["pk"], row["kind"], row["first_read_at"], row["last_read_at"], True, covers)
