"""What every lot under test waits for: a run, a second keying, judging, a signature, a decision."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass, field

from django.db.models import Count, Exists, OuterRef, Q, QuerySet, Subquery

from isohume.outlets.site.bench.models import Lot, Portion, Run, SecondKeying
from isohume.outlets.site.bench.queries import COUNTS
from isohume.outlets.site.lots.models import LotRecord
from isohume.outlets.site.people.models import Site

UNDER_TEST = ("open", "judged", "on hold")
GROUPS = ("a sample", "a cup", "a run", "a second keying", "judging", "a signature", "a decision")
"""In the order in which a lot passes through them."""
MOST_LOTS = 300


@dataclass(slots=True)
class Waits:
    """The lots that wait for one thing, those received first at the top."""

    what: str
    lots: list[Lot] = field(default_factory=list)


@dataclass(frozen=True, slots=True)
class _Runs:
    """The runs of a lot that count, and how many of them wait for a second keying."""

    n: int = 0
    not_keyed: int = 0


def waiting_lots(site: Site, cups: Iterable[Portion]) -> list[Waits]:
    """What the lots of a plant wait for, group by group, empty groups left out; three queries."""
    lots = list(_under_test(site))
    waiting = Counter(cup.sample.lot_id for cup in cups)
    runs = _runs(site)
    groups = {what: Waits(what) for what in GROUPS}
    for lot in lots:
        for what in _waits(lot, waiting[lot.pk], runs.get(lot.pk, _Runs())):
            groups[what].lots.append(lot)
    return [group for group in groups.values() if group.lots]


def _under_test(site: Site) -> QuerySet[Lot]:
    verdict = LotRecord.objects.filter(lot=OuterRef("pk")).order_by("-pk").values("verdict")[:1]
    samples = Count("samples", distinct=True)
    cups = Count("samples__portions", filter=Q(samples__portions__discarded_reason=""), distinct=True)
    found = Lot.objects.filter(site=site, state__in=UNDER_TEST).select_related("product")
    counted = found.annotate(verdict=Subquery(verdict), sample_count=samples, cup_count=cups)
    return counted.order_by("received_at", "pk")[:MOST_LOTS]


def _runs(site: Site) -> dict[int, _Runs]:
    agreed = Exists(SecondKeying.objects.filter(run=OuterRef("pk"), agrees=True))
    rows = (
        Run.objects.filter(COUNTS, portion__sample__lot__site=site, portion__sample__lot__state__in=UNDER_TEST)
        .annotate(agreed=agreed)
        .values("portion__sample__lot")
        .annotate(n=Count("pk"), not_keyed=Count("pk", filter=Q(imported=None, trace_sha256="", agreed=False)))
        .values_list("portion__sample__lot", "n", "not_keyed")
    )
    return {lot: _Runs(n, not_keyed) for lot, n, not_keyed in rows}


def _waits(lot: Lot, cups: int, runs: _Runs) -> list[str]:
    waits = ["a second keying"] if runs.not_keyed else []
    if lot.state == "on hold":
        return [*waits, "a decision"]
    if cups:
        return ["a run", *waits]
    if lot.state == "judged":
        return [*waits, "a signature"]
    if lot.verdict == "more portions needed" or (not runs.n and not lot.cup_count):
        return ["a cup" if lot.sample_count else "a sample", *waits]
    return [*waits, "judging"] if runs.n else ["a cup"]
