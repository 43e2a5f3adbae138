"""From a lot file to a frozen record: judge, compose, freeze, all or nothing.

The same inputs make the same record: after a kill the command is simply given again, and finds what it froze.
Another record for the same lot needs a reason, so that nobody tests until it passes without a trace.
"""

from __future__ import annotations

import hashlib
import json
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Any

from isohume.bench.record.compose import compose, input_files
from isohume.bench.record.judge import JudgedLot, judge_lot
from isohume.bench.record.lot_description import LotDescription
from isohume.bench.record.lot_file import read_lot_file
from isohume.bench.record.queries import FrozenRecord
from isohume.bench.record.signature import Signature
from isohume.bench.record.store import open_store
from isohume.bench.record.transaction import Transaction
from isohume.foundation.quantity.errors import InputError


@dataclass(frozen=True, slots=True)
class Certified:
    """A frozen record with its digest; where the same inputs were frozen before, it may be signed already."""

    record: dict[str, Any]
    digest: str
    already_frozen: bool
    signatures: tuple[Signature, ...] = ()


def certify(lot_file: Path, folder: Path, now: datetime) -> Certified:
    """Judge a lot from its files and freeze the record in a folder's ledger.

    lot_file: the lot description, TOML [text].
    folder: the folder of the ledger [text]; made where it is not there.
    now: the moment of judging [time].
    Returns: the Certified record [text].
    Raises: InputError for bad input (nothing is stored), or a second record of a lot without a reason.
    Source: ISO17025, 7.5 and 7.8.8.
    """
    lot = read_lot_file(lot_file)
    inputs_digest = digest_of_inputs(input_files(lot))
    judged = judge_lot(lot, now)
    if digest_of_inputs(input_files(lot)) != inputs_digest:
        raise InputError("inputs", lot_file.name, "input files that do not change while they are read")
    with open_store(folder) as store, store.transaction() as transaction:
        frozen, is_new = freeze_judged(transaction, judged, inputs_digest)
        signed = () if is_new else tuple(transaction.signatures_of(frozen.id))
    return Certified(frozen.content, frozen.digest, already_frozen=not is_new, signatures=signed)


def freeze_judged(
    transaction: Transaction, judged: JudgedLot, inputs_digest: str, key: str | None = None
) -> tuple[FrozenRecord, bool]:
    """Freeze a judged lot in a transaction that the caller commits, or find the record of the same inputs.

    transaction: the evidence's transaction [text].
    judged: the judged lot [text].
    inputs_digest: the digest of its input files [text].
    key: the id under which the ledger finds the lot [text]; made from the lot's own id where it is not given.
    Returns: the frozen record, and true where it is new [text].
    Raises: InputError for a second record of a lot without a reason, or inputs that a later record superseded.
    Source: ISO17025, 7.5 and 7.8.8.
    """
    known = transaction.find_by_inputs(inputs_digest)
    if known is not None:
        _refuse_superseded(transaction, known)
        return known, False
    return _freeze(transaction, judged, inputs_digest, key or lot_key(judged.description.lot)), True


def digest_of_inputs(files: list[dict[str, Any]]) -> str:
    """One digest over the roles and contents of all input files; names and places do not matter.

    files: the files' roles and SHA-256 digests [text].
    Returns: a SHA-256 digest in hexadecimal [text].
    Source: FIPS180-4.
    """
    lines = "".join(f"{file['role']}:{file['sha256']}\n" for file in files)
    return hashlib.sha256(lines.encode()).hexdigest()


def lot_key(lot: str) -> str:
    """The id under which the ledger finds a lot: SB-1 and sb-1 are one lot.

    lot: the lot's id as typed [text].
    Returns: the key [text].
    Source: none.
    """
    return lot.casefold()


def _refuse_superseded(transaction: Transaction, known: FrozenRecord) -> None:
    """Old inputs given again must not release what a later record of the lot holds."""
    last = transaction.records_of_lot(known.lot)[-1]
    if last.id != known.id:
        raise InputError(
            "inputs", known.id, f"the inputs of {last.id}, the lot's last record; {known.id} is kept, and superseded"
        )


def _freeze(transaction: Transaction, judged: JudgedLot, inputs_digest: str, key: str) -> FrozenRecord:
    lot = judged.description
    earlier = transaction.records_of_lot(key)

    def build(record_id: str, issued_at: str) -> dict[str, Any]:
        return compose(judged, record_id, issued_at, tuple(record.id for record in earlier))

    records = [json.loads(record.body) for record in earlier]
    if lot.amendment_reason or not records:
        _refuse_a_reason_out_of_place(lot, records)
    elif not continues(records[-1], build(records[-1]["id"], records[-1]["issued_at"])):
        last = records[-1]
        raise InputError(
            "amendment.reason",
            "nothing",
            f"why lot {lot.lot!r} gets another record: it has {last['id']} ({last['decision']['verdict']}) "
            "from other inputs, and both are kept",
        )
    return transaction.freeze(build, key, inputs_digest)


def _refuse_a_reason_out_of_place(lot: LotDescription, records: list[dict[str, Any]]) -> None:
    """A first record amends nothing, and each amendment has a reason of its own."""
    if lot.amendment_reason and not records:
        raise InputError(
            "amendment.reason", lot.amendment_reason, f"no [amendment]: {lot.lot!r} has no record to amend"
        )
    for record in records:
        if record["amendment"] and record["amendment"]["reason"].casefold() == lot.amendment_reason.casefold():
            raise InputError(
                "amendment.reason", lot.amendment_reason, f"a reason of its own; {record['id']} has this one already"
            )


_CONTINUED = (
    "site", "product", "method", "specification", "instrument", "check", "closing_check", "uncertainty", "companions",
    "correction",
)  # fmt: skip


def continues(earlier: dict[str, Any], later: dict[str, Any]) -> bool:
    """Whether a record only adds the portions that an earlier one asked for.

    earlier: the last record of the lot [text].
    later: what would be frozen now [text].
    Returns: true [1] where the earlier one needed more portions, keeps all its runs, and nothing else changed.
    Source: ISO5725-6, 5.2.
    """
    kept = [_as_read(run) for run in later["readings"]]
    return (
        earlier["decision"]["verdict"] == "more portions needed"
        and all(_as_read(run) in kept for run in earlier["readings"])
        and len(later["readings"]) > len(earlier["readings"])
        and all(earlier.get(part) == later.get(part) for part in _CONTINUED)
    )


def _as_read(run: dict[str, Any]) -> dict[str, Any]:
    """All of a run but its place in the file."""
    return {name: value for name, value in run.items() if name != "row"}
