"""The lots whose readings stand on a check, or that a failed one leaves without protection."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence

from django.db.models import Count, QuerySet

from isohume.outlets.site.bench.models import Lot, Run
from isohume.outlets.site.checks.models import Check
from isohume.outlets.site.checks.queries import WEIGHS
from isohume.outlets.site.checks.stated import Stated
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
    read = Counter(row["portion__sample__lot"] for row in at_risk(check, window, runs_between(check, window)))
    found = Lot.objects.filter(pk__in=read).select_related("product").order_by("-received_at", "-pk")
    lots = list(found[:MOST])
    for lot in lots:
        lot.read = read[lot.pk]
    return lots


def failed_against(lot: Lot, runs: Sequence[Run]) -> list[str]:
    """The failed checks that leave one of these runs of a lot without protection, in sentences.

    The one question before its release and for its certificate after it, whatever became of the checks' deviations;
    the look-back's own rule answers it.
    """
    if not runs:
        return []
    failed = Check.objects.filter(
        WEIGHS,
        instrument__in={run.instrument_id for run in runs},
        passed=False,
        last_read_at__gte=min(run.read_at for run in runs),
    )
    return [
        f"Check {check.pk} of {check.instrument.name} failed, and nothing protects a reading of lot {lot.code} since: "
        "it is read again under a good check, and judged anew."
        for check in failed.select_related("instrument__site", "method_version").order_by("pk")
        if _leaves_at_risk(check, runs)
    ]


def _leaves_at_risk(check: Check, runs: Iterable[Run]) -> bool:
    window, stated = window_of_check(check), Stated(check.instrument_id)
    own = (run for run in runs if run.instrument_id == check.instrument_id)
    return any(
        window.puts_at_risk(stated.reading(float(run.a_w), run.read_at, run.method_version.method_id)) for run in own
    )
