"""The lots whose readings stand on a check, or that a failed one leaves without protection."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable

from django.db.models import Count, Q, QuerySet

from isohume.outlets.site.bench.models import Lot, Run
from isohume.outlets.site.checks.models import Check
from isohume.outlets.site.checks.window_of_check import at_risk, runs_between, window_of_check

MOST = 60


def lots_protected(check: Check) -> QuerySet[Lot]:
    """The lots with a run that names this check as its opening check, newest first, with how many runs."""
    found = Lot.objects.filter(samples__portions__runs__opening_check=check)
    found = found.annotate(read=Count("samples__portions__runs", distinct=True))
    return found.select_related("product").order_by("-received_at", "-pk")[:MOST]


def lots_since_last_good(check: Check) -> list[Lot]:
    """The lots with runs that a failed check puts at risk, newest first, with how many such runs."""
    window = window_of_check(check)
    read = Counter(row["portion__sample__lot"] for row in at_risk(window, runs_between(check, window)))
    found = Lot.objects.filter(pk__in=read).select_related("product").order_by("-received_at", "-pk")
    lots = list(found[:MOST])
    for lot in lots:
        lot.read = read[lot.pk]
    return lots


def leaves_at_risk(check: Check, runs: Iterable[Run]) -> bool:
    """Whether a failed check leaves one of these runs without protection."""
    own = [run for run in runs if run.instrument_id == check.instrument_id]
    if not check.result["solutions"]:
        return bool(own)  # no reference of it says where it failed: then it failed everywhere
    window = window_of_check(check)
    return any(window.puts_at_risk(float(run.a_w), run.read_at) for run in own)


def puts_at_risk(check: Check, lot: Lot) -> bool:
    """Whether a failed check leaves a reading of a lot without protection."""
    window = window_of_check(check)
    return bool(at_risk(window, runs_between(check, window), Q(portion__sample__lot=lot)))
