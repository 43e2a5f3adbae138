"""The a_w line as a table: the same marks as rows, for whoever would rather read than look."""

from __future__ import annotations

from dataclasses import dataclass

from isohume.outlets.paper.line_spec import LimitMark, LineSpec, ValueMark


@dataclass(frozen=True, slots=True)
class LineRow:
    """One mark: what it is, its a_w, the stretch it covers (or empty), and what is to be said of it."""

    what: str
    a_w: str
    stretch: str
    words: str


def line_table(spec: LineSpec, most_readings: int | None = None) -> tuple[LineRow, ...]:
    """The rows of a line: results, readings, limits with guard bands, references, the instrument's range.

    More readings than `most_readings` are summed up in one row for those that count and one for the others.
    """
    rows = [_value(v) for v in spec.values if v.kind == "result"]
    read = sum(v.kind in ("reading", "not used") for v in spec.values)
    whole = most_readings is None or read <= most_readings
    rows += [_value(v) for v in spec.values if v.kind == "expected"]
    for kind in ("reading", "not used"):
        readings = [v for v in spec.values if v.kind == kind]
        rows += [_value(v) for v in readings] if whole else _summed(readings)
    rows += [_limit(limit) for limit in spec.limits]
    for r in spec.references:
        said = "not read yet" if r.read is None else f"read {r.read:.4f}"
        verdict = {None: "", True: ", within its limit", False: ", not within its limit"}[r.within]
        rows.append(LineRow(f"Reference {r.name}", f"{r.expected:.4f}", "", f"{said}{verdict}"))
    if spec.speaks:
        span = f"{spec.speaks.low:.4f} to {spec.speaks.high:.4f}"
        rows.append(LineRow("The instrument may speak", "", span, "the thick part of the line"))
    for instrument in spec.ranges:
        may = "" if instrument.may_measure else "may not measure: "
        span = f"{instrument.low:.4f} to {instrument.high:.4f}"
        rows.append(LineRow(instrument.name, "", span, may + instrument.words))
    return tuple(rows)


def _value(value: ValueMark) -> LineRow:
    name = value.name + {"not used": ", not counted", "expected": ", expected"}.get(value.kind, "")
    if value.half_width is None:
        return LineRow(_capital(name), value.typed, "", value.note)
    decimals = len(value.half_width_typed.partition(".")[2]) or 4
    stretch = f"{value.low:.{decimals}f} to {value.high:.{decimals}f}"
    return LineRow(_capital(name), value.typed, stretch, value.note)


def _summed(readings: list[ValueMark]) -> list[LineRow]:
    if not readings:
        return []
    ordered = sorted(readings, key=lambda v: v.value)
    counted = "not counted" if readings[0].kind == "not used" else "that count"
    span = f"{ordered[0].typed} to {ordered[-1].typed}"
    return [LineRow(f"{len(readings)} readings {counted}", "", span, "lowest to highest")]


def _limit(limit: LimitMark) -> LineRow:
    which, typed = ("Upper limit" if limit.is_upper else "Lower limit"), f"{limit.sign} {limit.typed}"
    if limit.acceptance is None:
        return LineRow(which, typed, "", "")
    acceptance = limit.acceptance_typed or f"{limit.acceptance:.4f}"
    ends = (acceptance, limit.typed) if limit.is_upper else (limit.typed, acceptance)
    return LineRow(which, typed, " to ".join(ends), f"guard band; acceptance limit {limit.sign} {acceptance}")


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]
