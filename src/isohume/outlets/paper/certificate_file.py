"""Certificates as files: one, or a batch that says how far it is.

A certificate has one name, that of its record: written again after signing, the signed one takes the unsigned one's
place, so that no "Not signed" copy lies beside it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from isohume.outlets.paper.atomic_file import safe_name, sync, write_whole
from isohume.outlets.paper.certificate import certificate_pdf
from isohume.outlets.paper.record_fields import need
from isohume.outlets.paper.typesetter import Paper

if TYPE_CHECKING:
    from isohume.bench.record.signature import Signature

Progress = Callable[[int, int | None], None]


def write_certificate(
    record: Mapping[str, Any],
    digest: str,
    folder: Path,
    paper: Paper | str = "a4",
    signatures: Sequence[Signature] = (),
    *,
    sync_folder: bool = True,
) -> Path:
    """Write the certificate of a record to a folder, named by the record's id, whole or not at all."""
    name = safe_name(str(need(record, "id")))
    pdf = certificate_pdf(record, digest, paper, signatures)
    return write_whole(Path(folder) / f"{name}.pdf", pdf, sync_folder=sync_folder)


def certificates(
    records: Iterable[tuple[Mapping[str, Any], str]],
    folder: Path,
    progress: Progress | None = None,
    paper: Paper | str = "a4",
    signatures_of: Callable[[str], Sequence[Signature]] | None = None,
) -> list[Path]:
    """Write the certificates of many records with one compiler.

    records: records with their digests; a list or any other iterable, read one at a time.
    folder: where the files go; made where it is not there.
    progress: called after each file with how many are written, and how many there are in all if known.
    paper: a4 or us-letter.
    signatures_of: gives the signatures of a record by its id, such as the store's own question; none where not given.
    Returns: the files' places, in the order of the records; when it returns all of them are durable.
    """
    total = len(records) if isinstance(records, (list, tuple)) else None
    written: list[Path] = []
    try:
        for record, digest in records:
            signed = signatures_of(str(need(record, "id"))) if signatures_of is not None else ()
            written.append(write_certificate(record, digest, folder, paper, signed, sync_folder=False))
            if progress is not None:
                progress(len(written), total)
    finally:
        if written:
            sync(written[0].parent)
    return written
