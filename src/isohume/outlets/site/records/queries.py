"""The questions asked of records: the list, the story of one, and the path of an inspector."""

from __future__ import annotations

from django.db.models import Q
from django.urls import reverse

from isohume.outlets.site.bench.models import Lot
from isohume.outlets.site.ledger.models import TrailLine
from isohume.outlets.site.ledger.trail import Said, lines_at, trail_of
from isohume.outlets.site.lots.evidence_of_lot import runs_of
from isohume.outlets.site.lots.models import LotRecord
from isohume.outlets.site.lots.state_of_lot import last_record
from isohume.outlets.site.people.models import Site

ROWS = 50
OF_CHECKS = ("check_", "bottle_", "solution_lot_")


def records_of(site: Site, text: str = "", before: int | None = None) -> tuple[list[LotRecord], int | None]:
    """Fifty records of a plant, the last frozen first, and where the next fifty begin.

    text: part of a record's id, of its digest or of a lot's code. before: only records frozen before this one.
    """
    asked = LotRecord.objects.filter(lot__site=site).select_related("lot__product", "by")
    if text := text.strip():
        asked = asked.filter(
            Q(record__icontains=text) | Q(lot__key__contains=text.casefold()) | Q(digest__startswith=text.casefold())
        )
    if before is not None:
        asked = asked.filter(pk__lt=before)
    rows = list(asked.order_by("-pk")[: ROWS + 1])
    return rows[:ROWS], rows[ROWS - 1].pk if len(rows) > ROWS else None


def story_of(record: LotRecord) -> list[Said]:
    """Everything that happened to a record, its lot and its runs, and to the check under it, in time order."""
    runs = [run.ref for run in runs_of(record.lot)]
    samples = [sample.ref for sample in record.lot.samples.all()]
    refs = (record.lot.ref, record.ref, *samples, *runs)
    seqs = set(TrailLine.objects.filter(ref__in=refs).values_list("seq", flat=True))
    # a check's trail also holds the judging of every other lot it stands under: not this story
    of_check = [line.seq for line in trail_of(record.opening_check.ref) if line.kind.startswith(OF_CHECKS)]
    return lines_at(sorted(seqs.union(of_check)))


def inspector_path(lot: Lot) -> list[tuple[str, str]]:
    """From a lot to the weighing of its reference solution, one click a step: (words, address).

    Lot, check, reference lot, balance record: at most four pages.
    """
    steps = [(f"Lot {lot.code}", lot.get_absolute_url())]
    record = last_record(lot)
    if record is None:
        return steps
    check = record.opening_check
    steps.append((f"Check {check.pk}", check.get_absolute_url()))
    for reading in check.readings.select_related("bottle__solution_lot").order_by("pk"):
        solution = reading.bottle.solution_lot
        weighing = solution.weighings.order_by("pk").last()
        if weighing is not None:
            steps.append((str(solution), solution.get_absolute_url()))
            steps.append(
                (f"Balance record {weighing.pk}", f"{reverse('solutionlot', args=[solution.pk])}#balance-record")
            )
            break
    return steps
