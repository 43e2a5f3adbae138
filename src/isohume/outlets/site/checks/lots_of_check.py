"""The lots whose readings stand on a check, or that a failed one leaves without protection."""

from __future__ import annotations

from django.db.models import Count, Q, QuerySet

from isohume.outlets.site.bench.models import Lot
from isohume.outlets.site.checks.models import Check
from isohume.outlets.site.checks.queries import WEIGHS

MOST = 60


def lots_protected(check: Check) -> QuerySet[Lot]:
    """The lots with a run that names this check as its opening check, newest first, with how many runs."""
    return _lots(Q(samples__portions__runs__opening_check=check))


def lots_since_last_good(check: Check) -> QuerySet[Lot]:
    """The lots read on the instrument after the last check it passed and before this failed one."""
    return _lots(_since_last_good(check))


def puts_at_risk(check: Check, lot: Lot) -> bool:
    """Whether a lot was read after the last check its instrument passed and before this failed one."""
    return Lot.objects.filter(_since_last_good(check), pk=lot.pk).exists()


def _since_last_good(check: Check) -> Q:
    good = (
        Check.objects.filter(WEIGHS, instrument=check.instrument_id, passed=True, last_read_at__lt=check.first_read_at)
        .order_by("-last_read_at")
        .first()
    )
    runs = Q(
        samples__portions__runs__instrument=check.instrument_id,
        samples__portions__runs__read_at__lte=check.last_read_at,
    )
    if good is not None:
        runs &= Q(samples__portions__runs__read_at__gte=good.last_read_at)
    return runs


def _lots(runs: Q) -> QuerySet[Lot]:
    found = Lot.objects.filter(runs).annotate(read=Count("samples__portions__runs", distinct=True))
    return found.select_related("product").order_by("-received_at", "-pk")[:MOST]
