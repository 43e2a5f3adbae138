"""A record as an a_w line: its references, limits, readings and result on the one picture."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, get_args

from isohume.bench.reading.runs import ESTIMATE
from isohume.foundation.quantity.errors import InputError
from isohume.outlets.paper.line_spec import (
    LimitMark,
    LimitOperator,
    LineSpec,
    Reference,
    Speaks,
    ValueKind,
    ValueMark,
    fitted,
)
from isohume.outlets.paper.record_fields import estimate_label, get, items
from isohume.outlets.paper.record_words import fixed, pair

NOT_COMPARABLE = ("void", "other component")  # uses of a run that say nothing about the result


def line_of(record: Mapping[str, Any]) -> LineSpec | None:
    """The a_w line of a record; None where the record holds nothing that could stand on one."""
    parts = (_references(record), _speaks(record), _limits(record), (*_result(record), *_readings(record)))
    if not any(parts):
        return None
    title = f"Water activity of lot {get(record, 'lot', 'id')}: result, limits and references"
    references, speaks, limits, values = parts
    return fitted(title, references, speaks, limits, values)


def _references(record: Mapping[str, Any]) -> tuple[Reference, ...]:
    return tuple(
        Reference(str(s["solution"]), float(s["expected"]), s.get("mean"), s.get("within"))
        for s in items(record, "check", "solutions")
        if s.get("expected") is not None
    )


def _speaks(record: Mapping[str, Any]) -> Speaks | None:
    covers = get(record, "standing", "covers_a_w")
    if not covers or not get(record, "standing", "may_measure"):
        return None
    return Speaks(float(covers[0]), float(covers[1]))


def _limits(record: Mapping[str, Any]) -> tuple[LimitMark, ...]:
    acceptance = get(record, "decision", "acceptance") or [None, None]
    out = []
    for side, name in enumerate(("lower_limit", "upper_limit")):
        limit = get(record, "specification", name)
        if limit:
            accepted = acceptance[side]
            out.append(
                LimitMark(
                    float(limit["value"]),
                    _operator(limit["operator"]),
                    str(limit["value"]),
                    accepted,
                    "" if accepted is None else fixed(accepted, 4),
                )
            )
    return tuple(out)


def _operator(text: object) -> LimitOperator:
    known: dict[object, LimitOperator] = {sign: sign for sign in get_args(LimitOperator)}
    if text not in known:
        raise InputError("record.specification.limit.operator", text, "one of <, <=, >, >=")
    return known[text]


def _result(record: Mapping[str, Any]) -> tuple[ValueMark, ...]:
    value, u = get(record, "determination", "value"), get(record, "determination", "u")
    if value is None:
        return ()
    k = float(get(record, "budget", "k") or 2)
    shown, expanded = pair(value, u, k)
    early = estimate_label(record)
    spread = f"U = {expanded}, k = {k:g}" if expanded else "no uncertainty known"
    return (
        ValueMark(
            name=f"{route(record)}, {ESTIMATE}" if early else route(record),
            value=float(value),
            typed=shown,
            half_width=None if u is None else k * u,
            half_width_typed=expanded,
            note=f"{early}; {spread}" if early else spread,
        ),
    )


def route(record: Mapping[str, Any]) -> str:
    """How the result came from its replicates, with the number spelled: mean of 2."""
    text = str(get(record, "determination", "route") or "result")
    n = get(record, "determination", "n")
    return f"{text[:-1]}{n}" if text.endswith(" of n") and n is not None else text


def _readings(record: Mapping[str, Any]) -> tuple[ValueMark, ...]:
    """The runs of the same component, beside the result; the others stand in the table of readings only."""
    out = []
    for r in items(record, "readings"):
        if r.get("use") in NOT_COMPARABLE or r.get("a_w") is None:
            continue
        kind: ValueKind = "reading" if r.get("use") == "replicate" else "not used"
        name = f"run {r.get('run')}"
        note = f"portion {r.get('portion')}, {r.get('use')}"
        if r.get("stopped") == ESTIMATE:
            name += f", {ESTIMATE}"
        shown = str(r["a_w"])
        if r.get("corrected_a_w") is not None:
            shown, note = fixed(float(r["corrected_a_w"]), 4), f"{note}, read {r['a_w']}, corrected"
        out.append(ValueMark(name, float(r.get("corrected_a_w") or r["a_w"]), shown, kind, note=note))
    return tuple(out)
