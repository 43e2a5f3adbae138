"""What was changed on the way to a record: the lines a reviewer must have seen before signing."""

from __future__ import annotations

from collections.abc import Iterable

from isohume.outlets.site.bench.models import Lot, Run
from isohume.outlets.site.lots.queries import related_deviations
from isohume.outlets.site.lots.stop_of_run import estimate_words


def changes_of(lot: Lot, runs: Iterable[Run]) -> list[str]:
    """Voids, corrections, overrides, early values, keyings that differed, earlier records, deviations."""
    found: list[str] = []
    for run in runs:
        found += _of_run(run)
    earlier = list(lot.records.order_by("pk"))[:-1]
    found += [f"Earlier record {record.record}: {record.verdict}, {record.disposition}." for record in earlier]
    for deviation in related_deviations(lot):
        state = "closed" if deviation.closed_at else "open"
        found.append(f"Deviation {deviation.pk} ({deviation.kind}), {state}: {deviation.what}")
    return found


def _of_run(run: Run) -> Iterable[str]:
    if run.void_reason:
        who = run.voided_by.printed_name if run.voided_by else "somebody"
        yield f"Run {run.pk} ({run.a_w}) voided by {who}: {run.void_reason}"
    if run.corrects_id is not None:
        yield f"Run {run.pk} ({run.a_w}) corrects run {run.corrects_id} ({run.corrects.a_w}): {run.correction_reason}"
    if run.override_reason:
        yield f"Run {run.pk} was read with a reason given for its temperature: {run.override_reason}"
    if early := estimate_words(run):
        yield f"Run {run.pk} ({run.a_w}) was stopped before the method's criterion was met: {early}."
    if run.plausibility:
        yield f"Run {run.pk}, said at entry: {run.plausibility}"
    for keying in run.second_keyings.all():
        if not keying.agrees:
            yield f"Run {run.pk} ({run.a_w}) keyed again as {keying.a_w}: {keying.words}"
