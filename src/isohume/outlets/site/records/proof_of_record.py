"""Can a record be proved now? Its digest, its signatures, its input files and its story's ledger lines, recomputed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from django.db import connection

from isohume.bench.record.line import Row, line_digests
from isohume.bench.record.queries import FrozenRecord
from isohume.bench.record.signature import Signature
from isohume.bench.record.tables import LEDGER_COLUMNS
from isohume.foundation.quantity.errors import IntegrityError
from isohume.outlets.site.lots.frozen import frozen, questions
from isohume.outlets.site.lots.models import LotRecord


@dataclass(frozen=True, slots=True)
class ProofOfRecord:
    """What was recomputed and what did not hold; `frozen` is None where the record itself cannot be believed."""

    frozen: FrozenRecord | None
    signatures: list[Signature]
    lines: int
    files: int
    faults: list[str]

    @property
    def holds(self) -> bool:
        """Whether everything is as it was written."""
        return not self.faults


def prove_record(record: LotRecord, seqs: Sequence[int]) -> ProofOfRecord:
    """Recompute a record, its signatures and files, and these ledger lines.

    seqs: the places of the ledger lines that tell its story.
    """
    faults: list[str] = []
    found = _found(record, faults)
    signatures: list[Signature] = []
    try:
        signatures = questions().signatures_of(record.record)
    except IntegrityError as error:
        faults.append(_sentence(error))
    files = _files(found.content, faults) if found else 0
    return ProofOfRecord(found, signatures, _lines(seqs, faults), files, faults)


def _found(record: LotRecord, faults: list[str]) -> FrozenRecord | None:
    try:
        found = frozen(record.record)
    except IntegrityError as error:
        faults.append(_sentence(error))
        return None
    if found.digest != record.digest:
        faults.append(f"Record {record.record}: the list holds another digest than the evidence.")
    return found


def _files(content: dict[str, Any], faults: list[str]) -> int:
    kept = 0
    for file in content["inputs"]:
        try:
            body = questions().file(file["sha256"])
        except IntegrityError as error:
            faults.append(_sentence(error))
            continue
        if body is None:
            faults.append(f"The input file {file['name']} is missing.")
        kept += body is not None
    return kept


def _lines(seqs: Sequence[int], faults: list[str]) -> int:
    rows: list[Row] = []
    with connection.cursor() as cursor:
        for start in range(0, len(seqs), 500):
            part = list(seqs[start : start + 500])
            marks = ",".join(["%s"] * len(part))
            cursor.execute(f"SELECT {LEDGER_COLUMNS} FROM ledger WHERE seq IN ({marks}) ORDER BY seq", part)
            rows += cursor.fetchall()
    found = zip(rows, line_digests(rows), strict=True)
    faults += [f"Ledger line {row[0]} is not what was written." for row, digest in found if row[6] != digest]
    missing = set(seqs) - {row[0] for row in rows}
    faults += [f"Ledger line {seq} is missing." for seq in sorted(missing)]
    return len(rows)


def _sentence(error: IntegrityError) -> str:
    text = str(error)
    return f"{text[:1].upper()}{text[1:]}."
