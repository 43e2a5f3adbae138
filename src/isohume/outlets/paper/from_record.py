"""A frozen record as the content of its certificate: texts and blocks, no numbers left to compute.

Pure: the same record, digest and signatures give the same content. The look is the template's.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

from isohume.outlets.paper.aw_line import draw_line
from isohume.outlets.paper.blocks import Block, table
from isohume.outlets.paper.line_rows import line_table
from isohume.outlets.paper.line_spec import LineSpec
from isohume.outlets.paper.record_checks import checks
from isohume.outlets.paper.record_correction import correction
from isohume.outlets.paper.record_evidence import (
    budget,
    cautions,
    companions,
    files,
    history,
    how,
    notes,
    rule,
)
from isohume.outlets.paper.record_fields import check_schema, need, site_line
from isohume.outlets.paper.record_headline import headline, title
from isohume.outlets.paper.record_line import line_of
from isohume.outlets.paper.record_readings import readings, replicates, tested
from isohume.outlets.paper.record_signatures import signature_section, signed_word
from isohume.outlets.paper.record_strata import strata
from isohume.outlets.paper.record_words import moment

if TYPE_CHECKING:
    from isohume.bench.record.signature import Signature

MOST_READINGS = 6  # more are summed up beside the line; the section on readings lists them all


def certificate_content(record: Mapping[str, Any], digest: str, signatures: Sequence[Signature] = ()) -> dict[str, Any]:
    """Everything the certificate of a record says, in the order it says it."""
    check_schema(record)
    spec = line_of(record)
    return {
        "title": title(record),
        "record": str(need(record, "id")),
        "digest": digest,
        "issued": moment(need(record, "issued_at")),
        "site": site_line(record),
        "lot": str(need(record, "lot", "id")),
        "product": str(need(record, "product", "name")),
        "signed": signed_word(record, signatures),
        "amends": bool(record.get("amendment")),
        "headline": headline(record),
        "line": _line(spec),
        "sections": sections(record, signature_section(record, digest, signatures)),
    }


def _line(spec: LineSpec | None) -> dict[str, Any] | None:
    if spec is None:
        return None
    rows = [((row.what, row.a_w, row.stretch, row.words), "") for row in line_table(spec, MOST_READINGS)]
    columns = ["Mark|wide", "a_w|right", "Stretch", "In words|wide"]
    return {"svg": draw_line(spec), "title": spec.title, "table": table(columns, rows)}


def sections(record: Mapping[str, Any], signed: Block) -> list[dict[str, Any]]:
    """What follows the first answer: what it does not say, who signed, then the evidence."""
    parts = (
        cautions(record),
        signed,
        tested(record),
        readings(record),
        replicates(record),
        strata(record),
        checks(record),
        correction(record),
        budget(record),
        rule(record),
        companions(record),
        how(record),
        files(record),
        notes(record),
        history(record),
    )
    return [part for part in parts if part]
