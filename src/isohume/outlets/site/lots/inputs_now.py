"""The input files that the site would write for a lot now, and what in them is not as its record was judged."""

from __future__ import annotations

import tempfile
import tomllib
from pathlib import Path
from typing import Any

from isohume.bench.record.certification import digest_of_inputs
from isohume.bench.record.compose import input_files
from isohume.bench.record.lot_file import read_lot_file
from isohume.bench.record.queries import Questions
from isohume.outlets.site.lots.evidence_of_lot import EvidenceOfLot
from isohume.outlets.site.lots.lot_inputs import write_inputs

LOT = "lot"
TABLES = {
    "lot": "what is said of the lot",
    "site": "the plant or the customer",
    "product": "the product",
    "specification": "the specification",
    "method": "the method",
    "instrument": "the instrument",
    "correction": "the correction",
    "check": "the limit of the check",
    "closing_check": "the closing check",
    "uncertainty": "the uncertainty budget",
    "moisture": "the moisture",
    "ph": "the pH",
}
"""The tables of a lot file as people call them."""


def digest_now(evidence: EvidenceOfLot, content: dict[str, Any]) -> str:
    """The digest of the inputs as they would be written now, with the record's own amendment.

    Raises: InputError where they cannot be read any more.
    """
    return _now(evidence, content)[0]


def changed_inputs(evidence: EvidenceOfLot, content: dict[str, Any], kept: Questions) -> list[str]:
    """What changed in the inputs since a record was made, as people call it; none where they are the same.

    content: the record's frozen content. kept: asked for the lot file that the record was judged from.
    Raises: InputError where they cannot be read any more.
    """
    digest, files, lot_file = _now(evidence, content)
    if digest == digest_of_inputs(content["inputs"]):
        return []
    before = {file["role"]: file["sha256"] for file in content["inputs"]}
    now = {file["role"]: file["sha256"] for file in files}
    roles = [role for role in dict.fromkeys((*before, *now)) if before.get(role) != now.get(role)]
    changed = [f"the {role} file" for role in roles if role != LOT]
    if LOT in roles:
        changed += _tables(kept.file(before[LOT]) or b"", lot_file)
    return changed or ["an input"]


def _tables(before: bytes, now: bytes) -> list[str]:
    old, new = (tomllib.loads(text.decode()) for text in (before, now))
    return [TABLES.get(name, name) for name in dict.fromkeys((*old, *new)) if old.get(name) != new.get(name)]


def _now(evidence: EvidenceOfLot, content: dict[str, Any]) -> tuple[str, list[dict[str, Any]], bytes]:
    amendment = content["amendment"]
    with tempfile.TemporaryDirectory(prefix="isohume-lot-") as folder:
        path = write_inputs(evidence, Path(folder), amendment["reason"] if amendment else "")
        files = input_files(read_lot_file(path))
        return digest_of_inputs(files), files, path.read_bytes()
