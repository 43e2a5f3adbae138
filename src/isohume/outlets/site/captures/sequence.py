"""What only the order of runs shows: a reference that leans towards the run before it, a cup whose re-reads climb."""

from __future__ import annotations

from dataclasses import dataclass

from isohume.bench.reading.diagnosis import climbing_re_reads
from isohume.bench.reading.diagnosis.signs import REPEATABILITY
from isohume.outlets.site.captures.carried import carried_into
from isohume.outlets.site.captures.models import CapturedRun


@dataclass(frozen=True, slots=True)
class InOrder:
    """Something that the order of runs says of one of them: what it is called, the evidence, and what to do."""

    name: str
    evidence: tuple[str, ...]
    action: str


def said_in_order(run: CapturedRun) -> list[InOrder]:
    """What the runs around a captured run say of it."""
    carried = carried_into(run)
    found = [InOrder("carry-over", carried.evidence, carried.action)] if carried else []
    return [*found, *_climbing(run)]


def _climbing(run: CapturedRun) -> list[InOrder]:
    """The reads of the same cup on the same instrument until this one."""
    if run.portion_id is None or not run.last_a_w:
        return []
    same = CapturedRun.objects.filter(portion=run.portion_id, instrument=run.instrument_id, pk__lte=run.pk)
    reads = same.exclude(last_a_w="").order_by("started_at", "pk").values_list("last_a_w", flat=True)
    found = climbing_re_reads([float(a_w) for a_w in reads], max(float(run.instrument.u_instrument), REPEATABILITY))
    return [InOrder("volatile", found.evidence, found.action)] if found else []
