"""A lot judged as it stands now, without keeping anything: the same code as its record, its portions by position."""

from __future__ import annotations

import tempfile
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from pathlib import Path

from isohume.bench.record.judge import JudgedLot, judge_lot
from isohume.bench.record.lot_file import read_lot_file
from isohume.foundation.quantity.errors import InputError
from isohume.outlets.site.bench.models import Lot
from isohume.outlets.site.ledger.actions import Refused
from isohume.outlets.site.lots.evidence_of_lot import evidence_of, runs_of
from isohume.outlets.site.lots.lot_inputs import write_inputs


@dataclass(frozen=True, slots=True)
class JudgedNow:
    """What judging would find now; where it is refused, why, and the portions as they were read."""

    judged: JudgedLot | None
    refused: tuple[str, ...]
    portions: tuple[tuple[str, Decimal], ...]


def judged_now(lot: Lot, now: datetime) -> JudgedNow:
    """Judge a lot from what the bench knows, and forget it."""
    try:
        with tempfile.TemporaryDirectory(prefix="isohume-positions-") as folder:
            judged = judge_lot(read_lot_file(write_inputs(evidence_of(lot), Path(folder))), now)
    except Refused as refused:
        return JudgedNow(None, refused.reasons, _read(lot))
    except InputError as error:
        return JudgedNow(None, (str(error),), _read(lot))
    counted = tuple((j.run.position, j.a_w) for j in judged.runs if j.use == "replicate")
    return JudgedNow(judged, (), counted)


def _read(lot: Lot) -> tuple[tuple[str, Decimal], ...]:
    """The first run of each cup that counts, as it was typed."""
    first = {run.portion_id: run for run in reversed(runs_of(lot)) if run.counts}
    return tuple((run.portion.sample.position, Decimal(run.a_w)) for run in first.values())
