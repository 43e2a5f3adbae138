"""The section on the checks that bracket the result: references, standing, closing check."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from isohume.outlets.paper.blocks import Block, pairs, section, table, text
from isohume.outlets.paper.record_fields import get
from isohume.outlets.paper.record_words import fixed, joined, moment, plain, sentence, signed, yes


def checks(record: Mapping[str, Any]) -> Block:
    """Each check with its references, and what the instrument may therefore measure."""
    opening, closing = record.get("check"), record.get("closing_check")
    blocks: list[Block | None] = []
    blocks += _check("Check before the readings", opening) if opening else [text("No check before the readings.")]
    blocks += _check("Closing check", closing) if closing else [text("No closing check.")]
    return section("Checks that bracket it", *blocks, pairs(_standing(record)))


def _check(name: str, check: Mapping[str, Any]) -> list[Block | None]:
    limit = f"; the laboratory's own limit {fixed(check.get('limit'), 4)}" if check.get("limit") else ""
    verdict = sentence(plain(check.get("verdict")))
    at = f"{name}, {moment(check.get('at'))}: {verdict}{limit}. {joined(check.get('reasons') or [])}"
    columns = [
        "Solution, lot|wide", "°C|right", "Expected|right", "Read|right", "n|right", "Deviation|right",
        "E_n|right", "Within",
    ]  # fmt: skip
    rows = [(_reference(s), "") for s in check.get("solutions") or []]
    return [
        text(at.strip()),
        table(columns, rows) if rows else None,
        text(_as_read(check)),
        text(_source_words(check)),
        _fit(check),
    ]


def _as_read(check: Mapping[str, Any]) -> str:
    """What the references read before the correction in force, which the table above already holds."""
    as_read = check.get("as_read")
    if not as_read:
        return ""
    listed = "; ".join(
        f"{plain(s.get('solution'))} {fixed(s.get('mean'), 4)} ({signed(s.get('deviation'), 4)})"
        for s in as_read.get("solutions") or []
    )
    return (
        f"Corrected values above. As read, with deviation: {listed}. {sentence(plain(as_read.get('verdict')))} as read."
    )


def _reference(s: Mapping[str, Any]) -> list[str]:
    name = plain(s.get("solution"))
    kind = f"{s['molality']} mol/kg" if s.get("molality") else plain(s.get("kind"))
    lots = s.get("lots") or ([s["lot"]] if s.get("lot") else [])
    lot = f", lot {plain(lots)}" if lots else ""
    return [
        f"{name}, {kind}{lot}",
        fixed(s.get("temperature_c"), 2),
        fixed(s.get("expected"), 4),
        fixed(s.get("mean"), 4),
        plain(s.get("n")),
        signed(s.get("deviation"), 4),
        fixed(s.get("e_n"), 2),
        yes(s.get("within")),
    ]


def _source_words(check: Mapping[str, Any]) -> str:
    """Where the expected values come from, and how well they are known."""
    known = [_source(s) for s in check.get("solutions") or [] if s.get("source")]
    return (
        f"Expected at the temperature measured; source and standard uncertainty: {'; '.join(known)}." if known else ""
    )


def _source(s: Mapping[str, Any]) -> str:
    known = f"u = {fixed(s.get('u_reference'), 4)}".replace(" ", "\N{NO-BREAK SPACE}")
    return f"{plain(s.get('solution'))} {plain(s.get('source'))}, {known}"


def _fit(check: Mapping[str, Any]) -> Block | None:
    """The straight line through the references, where one was fitted."""
    if check.get("offset") is None or check.get("slope") is None:
        return None
    return pairs(
        [
            ("Offset", f"{signed(check['offset'], 4)}, u = {fixed(check.get('u_offset'), 4)}"),
            ("Slope", f"{fixed(check['slope'], 4)}, u = {fixed(check.get('u_slope'), 4)}"),
        ]
    )


def _standing(record: Mapping[str, Any]) -> list[tuple[str, str]]:
    """What the instrument may measure, from when to when, and why."""
    standing = get(record, "standing") or {}
    covers = standing.get("covers_a_w")
    span = f", {fixed(covers[0], 4)} to {fixed(covers[1], 4)}" if covers else ""
    bracketed = "Bracketed by a closing check" if standing.get("bracketed_by_closing_check") else "No closing check"
    rows = [
        ("May measure", f"{sentence(yes(standing.get('may_measure')))}{span}"),
        ("From, until", f"{moment(standing.get('from'))} until {moment(standing.get('until'))}"),
        ("Closing", bracketed),
    ]
    reasons = joined(standing.get("reasons") or [])
    return [*rows, ("Because", reasons)] if reasons else rows
