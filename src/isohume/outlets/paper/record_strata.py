"""The section on the positions of a lot that was judged by strata; none where it was judged as one."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from isohume.outlets.paper.blocks import Block, pairs, section, table, text
from isohume.outlets.paper.record_words import fixed, plain, probability

DECIDES = {
    "worst position": "Every position must conform by itself: the worst one decides, not a mean over them.",
    "worst portion": "The repeatability is not known, so the worst portion decides.",
    "pooled": "The positions do not differ by more than their portions do: all portions are taken together.",
}
NOT_READ = "A position that was not read may be worse than those listed."


def strata(record: Mapping[str, Any]) -> Block | None:
    """Each position with its portions, worst first, which one decides, and how far they lie apart."""
    found = record.get("strata")
    if not found:
        return None
    columns = ["Position, worst first|wide", "Portions|wide", "n|right", "a_w|right", "Route", "Decides"]
    alone = found["decides"] != "pooled"
    rows = [(_place(one, alone and one["position"] == found["worst"]), "") for one in found["positions"]]
    return section(
        "Positions of the lot",
        text(f"{DECIDES.get(found['decides'], plain(found['decides']))} {NOT_READ}"),
        table(columns, rows),
        pairs([*_apart(found.get("between")), *_together(found.get("probability_all"))]),
    )


def _place(one: Mapping[str, Any], decides: bool) -> list[str]:
    kind = f" ({one['kind']})" if one["kind"] == "composite" and "composite" not in one["position"].casefold() else ""
    # each portion keeps its own digits, and a line may break between two of them
    portions = ", ".join(str(portion) for portion in one["portions"])
    value = "more portions needed" if one["value"] is None else fixed(one["value"], 4)
    return [
        f"{one['position']}{kind}",
        portions,
        str(one["n"]),
        value,
        one["route"] or "none",
        "yes" if decides else "",
    ]


def _apart(between: Mapping[str, Any] | None) -> list[tuple[str, str]]:
    """Between positions against repeatability; what could not be told is said."""
    if not between:
        return [("Between positions", "not told: fewer than two places were read by themselves, or too few portions")]
    low, high = between["interval"]
    return [
        (
            "Between positions",
            f"s = {fixed(between['s_between'], 4)}, 95 % interval {fixed(low, 4)} to {fixed(high, 4)}; "
            f"repeatability {fixed(between['s_r'], 4)}",
        ),
        (
            "Do they differ?",
            f"F = {fixed(between['f'], 2)}, {fixed(between['f_allowed'], 2)} at 5 %, p = {_p(between['p'])}; an s "
            f"below {fixed(between['seen_from'], 4)} would be missed more than once in ten",
        ),
    ]


def _p(p: float) -> str:
    return "below 0.0001" if p < 0.0001 else f"{p:.4f}"


def _together(p: float | None) -> list[tuple[str, str]]:
    return [] if p is None else [("All listed places", f"conform together with a probability of {probability(p)}")]
