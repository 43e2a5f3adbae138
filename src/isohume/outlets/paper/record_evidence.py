"""The sections that let a reader follow and prove the result: budget, rule, companions, figures, files."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from isohume.outlets.paper.blocks import Block, pairs, section, table, text
from isohume.outlets.paper.record_fields import get, items, need
from isohume.outlets.paper.record_headline import rule_words, states_conformity
from isohume.outlets.paper.record_words import ABSENT, fixed, inner, joined, pair, plain, sentence

ONLY_ITEMS = "Results relate only to the items tested."
VERDICT_WORDS = (
    "Pass: inside the acceptance limits. Conditional pass: inside the limits, outside the acceptance "
    "limits. Conditional fail: outside the limits by no more than the guard band. Fail: outside by more."
)


def budget(record: Mapping[str, Any]) -> Block:
    """The uncertainty budget with each component's share."""
    b = record.get("budget")
    if not b or b.get("u") is None:
        return section("Uncertainty", text("No uncertainty is known for this result; none is invented."))
    u, k = float(b["u"]), float(b.get("k") or 2)
    shown_u, expanded = pair(u, u)[1], pair(u, u, k)[1]
    label = f"Budget: {plain(b.get('label'))}; {plain(b.get('source'))}."
    rows = [
        ([plain(c.get("name")), _spread(c.get("u")), fixed(c.get("share"), 2), plain(c.get("source"))], "")
        for c in b.get("components") or []
    ]
    totals = [
        ("Standard", f"u = {shown_u}"),
        ("Expanded", f"U = k u = {expanded}, k = {k:g}"),
    ]
    return section(
        "Uncertainty",
        text(label),
        table(["Component|wide", "u|right", "Share of u²|right", "Where from|wide"], rows) if rows else None,
        pairs(totals),
    )


def _spread(u: float | None) -> str:
    return ABSENT if u is None else pair(float(u), float(u))[1]


def rule(record: Mapping[str, Any]) -> Block:
    """The decision rule in words, and what the verdict's words mean."""
    sampling = "included" if get(record, "decision", "sampling_included") else "not included"
    guard = get(record, "specification", "guard")
    rows = [("Rule", rule_words(record))]
    if guard is not None:
        rows.append(("Guard factor", f"w = {guard} u"))
    rows.append(("Sampling", f"Sampling {sampling}."))
    return section("Decision rule", pairs(rows), text(VERDICT_WORDS if states_conformity(record) else ""))


def companions(record: Mapping[str, Any]) -> Block | None:
    """Moisture, pH and the like, found beside the water activity, each with its own check."""
    blocks: list[Block | None] = []
    for c in items(record, "companions"):
        basis = f", {c['basis']}" if c.get("basis") else ""
        rows = [
            (_quantity(c), _companion(c, basis)),
            ("Method", plain(c.get("method") or None)),
            ("Check", f"{sentence(plain(get(c, 'check', 'verdict')))}: {plain(get(c, 'check', 'text'))}"),
        ]
        blocks += [pairs(rows), text(joined(c.get("reasons") or []))]
    return section("Found beside it", *blocks) if blocks else None


def _quantity(c: Mapping[str, Any]) -> str:
    name = plain(c.get("quantity"))
    return name if name == "pH" else sentence(name)


def _companion(c: Mapping[str, Any], basis: str) -> str:
    words = plain(c.get("text"))
    if c.get("value") is None or "(u " in words:  # the text says its own uncertainty
        return words
    shown, u = pair(float(c["value"]), c.get("u"))
    unit = "" if c.get("unit") in (None, "1") else f" {c['unit']}"
    spread = f"u = {u}{unit}" if u else "no uncertainty known"
    return f"{words}. Value {shown}{unit}{basis}, {spread}"


def how(record: Mapping[str, Any]) -> Block | None:
    """How each figure was found: formula, inputs, source, valid range."""
    blocks = [
        pairs(
            [
                (sentence(plain(h.get("figure"))), plain(h.get("formula"))),
                ("With", "; ".join(f"{k} = {inner(v)}" for k, v in (h.get("inputs") or {}).items())),
                ("Source, valid", f"{plain(h.get('source'))}; {plain(h.get('valid'))}"),
                *([("Depends most on", plain(h["depends_most_on"]))] if h.get("depends_most_on") else []),
            ]
        )
        for h in items(record, "how")
    ]
    return section("How each figure was found", *blocks) if blocks else None


def files(record: Mapping[str, Any]) -> Block | None:
    """The input files with their SHA-256."""
    rows = [
        (
            [plain(f.get("role")), plain(f.get("name")), plain(f.get("bytes"))],
            f"SHA-256 {plain(f.get('sha256'))}",
        )
        for f in items(record, "inputs")
    ]
    return section("Input files", table(["Role", "File|wide", "Bytes|right"], rows)) if rows else None


def history(record: Mapping[str, Any]) -> Block | None:
    """Earlier records of the lot, and what an amendment changes."""
    earlier = items(record, "earlier_records")
    amendment = record.get("amendment")
    words = "Earlier records of this lot: " + "; ".join(map(plain, earlier)) + "." if earlier else ""
    if not (words or amendment):
        return section("Earlier records", text("None named in this record."))
    return section("Earlier records", text(words), text(f"Amendment: {plain(amendment)}" if amendment else ""))


def notes(record: Mapping[str, Any]) -> Block | None:
    """What was noticed while the input was read, such as a decimal comma taken for a point."""
    return (
        section("Notes on the input", *(text(plain(n)) for n in items(record, "notes")))
        if record.get("notes")
        else None
    )


def cautions(record: Mapping[str, Any]) -> Block:
    """What the document does not say."""
    need(record, "id")
    return section("Cautions", *(text(plain(c)) for c in [ONLY_ITEMS, *items(record, "cautions")]))
