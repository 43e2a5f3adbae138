"""The first thing the paper says: the verdict in words, what it compares, by which rule, how probable."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from isohume.outlets.paper.blocks import pairs
from isohume.outlets.paper.record_fields import estimate_label, get, items, need
from isohume.outlets.paper.record_line import route
from isohume.outlets.paper.record_words import (
    STATEMENTS,
    fixed,
    joined,
    limits_words,
    pair,
    probability,
    sentence,
)

CERTIFICATE = "Certificate of water activity"
REPORT = "Report of measurement, no statement of conformity"
NO_STATEMENT = "Neither the portions nor the lot: no conformity is stated."
SAMPLING = {
    True: "The lot: a component of uncertainty between positions is included.",
    False: "The portions tested. Sampling not included: the probability does not speak of the whole lot.",
}


def states_conformity(record: Mapping[str, Any]) -> bool:
    """Whether the record carries a verdict that states conformity or its absence."""
    return need(record, "decision", "verdict") in STATEMENTS


def title(record: Mapping[str, Any]) -> str:
    """The title of the document."""
    return CERTIFICATE if states_conformity(record) else REPORT


def headline(record: Mapping[str, Any]) -> dict[str, Any]:
    """The verdict with what it rests on, for the top of the first page."""
    verdict = str(need(record, "decision", "verdict"))
    disposition = str(need(record, "decision", "disposition"))
    stated = states_conformity(record)
    version = need(record, "specification", "version")
    against = f"{sentence(verdict)} against specification version {version}"
    return {
        "verdict": against if stated else sentence(verdict),
        "mark": verdict,
        "disposition": f"Disposition: {disposition}" + (f" ({early})" if (early := estimate_label(record)) else ""),
        "probability": f"Probability of conformity: {probability(_p(record))}" if stated else "",
        "label": "Statement of conformity" if stated else "What was found",
        "block": pairs(_rows(record, stated)),
    }


def _p(record: Mapping[str, Any]) -> float | None:
    p = get(record, "decision", "probability_of_conformity")
    return None if p is None else float(p)


def _rows(record: Mapping[str, Any], stated: bool) -> list[list[str]]:
    rows = [
        ["Result", result_words(record)],
        ["Specification", specification_words(record)],
        ["Decision rule", rule_words(record)],
    ]
    if stated:
        rows.append(["Outcome", outcome_words(record)])
    reasons = joined(items(record, "decision", "reasons"))
    if reasons:
        rows.append(["Because", reasons])
    applies = SAMPLING[bool(get(record, "decision", "sampling_included"))]
    rows.append(["Applies to", applies if stated else NO_STATEMENT])
    return rows


def result_words(record: Mapping[str, Any]) -> str:
    """The result with its expanded uncertainty, route, component and temperature."""
    value, u = get(record, "determination", "value"), get(record, "determination", "u")
    if value is None:
        return "No result: " + (joined(items(record, "determination", "reasons")) or "see the reasons below.")
    k = float(get(record, "budget", "k") or 2)
    shown, expanded = pair(value, u, k)
    spread = f"U = {expanded} (k = {k:g})" if expanded else "no uncertainty known"
    spec = need(record, "specification")
    component = f"{spec['component']}, " if spec.get("component") else ""
    where = f"{component}at {spec['temperature_c']} °C"
    early = f"{label}, " if (label := estimate_label(record)) else ""
    return f"Water activity {shown}, {early}{spread}; {route(record)}; {where}{unrounded(record, shown)}"


def unrounded(record: Mapping[str, Any], shown: str) -> str:
    """The value as compared, where its rounded form would stand on the other side of, or on, a limit."""
    exact = Decimal(repr(float(get(record, "determination", "value"))))
    for name in ("lower_limit", "upper_limit"):
        limit = get(record, "specification", name)
        if limit and _side(Decimal(shown), limit) != _side(exact, limit):
            return f" (compared unrounded: {exact})"
    return ""


def _side(value: Decimal, limit: Mapping[str, Any]) -> int:
    return int(value.compare(Decimal(str(limit["value"]))))


def specification_words(record: Mapping[str, Any]) -> str:
    """The specification a result is compared with: version, component, limits, kind and where it stands."""
    spec = need(record, "specification")
    limits = limits_words(spec.get("lower_limit"), spec.get("upper_limit"))
    kind = f" {spec['kind']} limit" if spec.get("kind") else ""
    source = f"; {spec['source']}" if spec.get("source") else ""
    component = f", {spec['component']}" if spec.get("component") else ""
    return f"Version {spec['version']}{component}: water activity {limits};{kind}{source}"


def rule_words(record: Mapping[str, Any]) -> str:
    """The decision rule with the guard band and the acceptance limits it led to."""
    rule = str(need(record, "decision", "rule")).rstrip(".;")
    band = get(record, "decision", "guard_band")
    if band is None:
        return rule
    low, high = get(record, "decision", "acceptance") or [None, None]
    accepted = " and ".join(
        f"{word} {fixed(end, 4)}" for word, end in (("from", low), ("up to", high)) if end is not None
    )
    return f"{rule}; guard band {fixed(band, 4)}" + (f"; acceptance {accepted}" if accepted else "")


def outcome_words(record: Mapping[str, Any]) -> str:
    """Verdict, disposition and probability in one sentence."""
    verdict, disposition = get(record, "decision", "verdict"), get(record, "decision", "disposition")
    p = probability(_p(record))
    return f"{sentence(str(verdict))}; disposition {disposition}; probability of conformity {p}"
