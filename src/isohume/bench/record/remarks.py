"""What a reader of a decision has to know about the runs behind it, even where the verdict does not turn on it."""

from __future__ import annotations

from isohume.bench.assurance.standing import Standing
from isohume.bench.reading.usable import NO_TEMPERATURE, Judged
from isohume.bench.record.lot_description import LotDescription


def remarks_on(lot: LotDescription, standing: Standing, runs: tuple[Judged, ...]) -> tuple[str, ...]:
    """Runs beyond a limit that do not count, guards that could not judge, readings after the closing check.

    lot: the lot description [text].
    standing: the instrument's standing [text].
    runs: every run of the lot, judged [text].
    Returns: one sentence a remark [text].
    Source: ISO17025, 7.8.2.
    """
    counted = [j for j in runs if j.use == "replicate"]
    found = [_passed_over(j) for j in runs if _beyond(j, lot)]
    untempered = [j.run.run for j in counted if NO_TEMPERATURE in j.reasons]
    if untempered:
        found.append(f"Sample temperature not given for run {_listed(untempered)}: no guard against a warm sample.")
    late = [j.run.run for j in counted if standing.closing_passed and not standing.brackets(j.run.read_at)]
    if late:
        found.append(f"The closing check does not bracket run {_listed(late)}.")
    if lot.uncertainty.s_position is not None and not all(j.run.position for j in counted):
        found.append("Not every portion has a position: the spread between positions could not be included.")
    return tuple(found)


def _beyond(judged: Judged, lot: LotDescription) -> bool:
    return judged.use in ("void", "refused") and not lot.specification.rule.admits(judged.a_w)


def _passed_over(judged: Judged) -> str:
    run = judged.run
    return f"Run {run.run} ({judged.use}) read {run.a_w}, beyond the limit, and does not count. {judged.reasons[0]}"


def _listed(runs: list[str]) -> str:
    return ", ".join(runs[:5]) + (f" and {len(runs) - 5} more" if len(runs) > 5 else "")
