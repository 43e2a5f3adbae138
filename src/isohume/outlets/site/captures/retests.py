"""Which newer numbers are known of what a captured run was of: a cause comes before them (D21), not after."""

from __future__ import annotations

from django.db.models import Q, QuerySet

from isohume.outlets.site.bench.models import Portion, Run
from isohume.outlets.site.captures.models import CapturedRun
from isohume.outlets.site.captures.same_read import typed_of
from isohume.outlets.site.register.models import SolutionLot


def newer_numbers(run: CapturedRun) -> list[str]:
    """Later runs, captured or typed, of the same cup, of a cup of its lot that was prepared after it began, or of the
    same reference lot on its instrument, in words; none for an orphan, of which nobody knows what it was of."""
    if run.portion is not None:
        return _of_lot(run, run.portion)
    if run.bottle is not None:
        return _of_reference(run, run.bottle.solution_lot)
    return []


def unanswered_before(run: CapturedRun) -> list[str]:
    """Earlier captured runs of the same cup, or of one of its lot that was read before this cup was prepared, that
    nobody has accepted or voided: whoever takes a later number first has chosen between them."""
    portion = run.portion
    if portion is None:
        return []
    earlier = Q(started_at__lt=run.started_at) | Q(started_at=run.started_at, pk__lt=run.pk)
    first_of = Q(portion=portion) | Q(portion__sample__lot_id=portion.sample.lot_id, started_at__lt=portion.prepared_at)
    found = CapturedRun.objects.filter(earlier, first_of, fate="waiting", readings__gt=0).order_by("started_at", "pk")
    return [f"{one.named} of cup {one.portion.code}" for one in found.select_related("portion") if one.portion]


def captured_after(run: Run) -> list[str]:
    """Captured runs that nobody accepted yet and whose number is known all the same: retests of a run on record."""
    portion = run.portion
    retest = Q(portion=portion) | Q(
        portion__sample__lot_id=portion.sample.lot_id, portion__prepared_at__gt=run.entered_at
    )
    found = CapturedRun.objects.filter(retest, run=None, readings__gt=0, started_at__gt=run.read_at)
    found = found.order_by("started_at", "pk").select_related("portion")
    return [f"{one.named} of cup {one.portion.code}" for one in found if one.portion]


def later_on_instrument(run: CapturedRun) -> list[str]:
    """Runs that the instrument gave after it, of whatever."""
    later = _with_readings(run).filter(instrument=run.instrument).order_by("started_at", "pk")[:4]
    return [one.named for one in later]


def _with_readings(run: CapturedRun) -> QuerySet[CapturedRun]:
    newer = Q(started_at__gt=run.started_at) | Q(started_at=run.started_at, pk__gt=run.pk)
    return CapturedRun.objects.filter(newer, readings__gt=0).exclude(pk=run.pk)


def _of_lot(run: CapturedRun, portion: Portion) -> list[str]:
    retest = Q(portion=portion) | Q(portion__prepared_at__gt=run.started_at)
    lot = Q(portion__sample__lot_id=portion.sample.lot_id)
    captured = _with_readings(run).filter(lot, retest).order_by("started_at").select_related("portion")
    typed = Run.objects.filter(lot, retest, read_at__gt=run.started_at, corrects=None, captured=None)
    typed = typed.exclude(pk__in=[one.pk for one in typed_of(run)])  # of this very read: no newer number
    said = [f"{one.named} of cup {one.portion.code}" for one in captured]
    return said + [f"run {one.pk} of cup {one.portion.code}" for one in typed.select_related("portion")]


def _of_reference(run: CapturedRun, lot: SolutionLot) -> list[str]:
    captured = _with_readings(run).filter(bottle__solution_lot=lot, instrument=run.instrument).order_by("started_at")
    return [f"{one.named} of {lot.name}" for one in captured]
