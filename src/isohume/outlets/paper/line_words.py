"""The words of an a_w line: the label of each mark, and the key that says what each shape means."""

from __future__ import annotations

from isohume.outlets.paper import line_marks as marks
from isohume.outlets.paper.line_frame import KeyItem
from isohume.outlets.paper.line_labels import Label
from isohume.outlets.paper.line_spec import InstrumentRange, LimitMark, LineSpec, Reference, ValueMark
from isohume.outlets.paper.line_strip import Strip

MOST_NAMED_READINGS = 4
MOST_NAMED_SAMPLES = 8


def decision_labels(strip: Strip, spec: LineSpec) -> list[Label]:
    """Labels above the main line: results, limits, acceptance limits; readings where no result stands."""
    out = [_label(strip, v.value, result_words(v), bold=True) for v in spec.values if v.kind == "result"]
    readings = [v for v in spec.values if v.kind == "reading"]
    if not out and len(readings) <= MOST_NAMED_READINGS:
        out = [_label(strip, v.value, f"{v.name}: {v.typed}") for v in readings]
    waiting = [v for v in spec.values if v.kind == "expected"]
    if len(waiting) <= MOST_NAMED_SAMPLES:
        out += [_label(strip, v.value, f"{v.name}: {v.typed}") for v in waiting]
    for limit in spec.limits:
        out.append(_label(strip, limit.value, f"limit {limit.sign} {limit.typed}", bold=True))
        if limit.acceptance is not None:
            out.append(_label(strip, limit.acceptance, acceptance_words(limit)))
    return out


def reference_labels(strip: Strip, spec: LineSpec) -> list[Label]:
    """A label for each reference: its name, where it should be and where it read."""
    return [_label(strip, r.expected, reference_words(r)) for r in spec.references]


def _label(strip: Strip, a_w: float, text: str, bold: bool = False) -> Label:
    """A label at its mark, or at the end of the strip with an arrow where the mark lies beyond it."""
    if a_w < strip.window.low:
        text = f"← {text}"
    elif a_w > strip.window.high:
        text = f"{text} →"
    return Label(strip.inside(a_w), text, bold)


def result_words(value: ValueMark) -> str:
    """A result as the line names it."""
    interval = f" ± {value.half_width_typed}" if value.half_width_typed else ""
    return f"{value.name}: {value.typed}{interval}"


def acceptance_words(limit: LimitMark) -> str:
    """An acceptance limit as the line names it."""
    return f"acceptance limit {limit.sign} {limit.acceptance_typed or f'{limit.acceptance:.4f}'}"


def reference_words(reference: Reference) -> str:
    """A reference as the line names it: where it should be, where it read, and whether that is too far off."""
    read = "not read yet" if reference.read is None else f"read {reference.read:.4f}"
    verdict = ", NOT within" if reference.within is False else ""
    return f"{reference.name} {reference.expected:.4f}, {read}{verdict}"


def key(spec: LineSpec) -> list[KeyItem]:
    """What each shape on this line means; shapes that are not there are not explained."""
    kinds = {value.kind for value in spec.values if spec.window.holds(value.value)}
    out: list[KeyItem] = []
    if "result" in kinds:
        out.append((marks.lozenge, "result"))
    if any(v.half_width is not None for v in spec.values):
        out.append((lambda x, y: marks.interval(x - 6, x + 6, y, False, False), "its interval"))
    if "reading" in kinds:
        out.append((marks.reading, "reading that counts"))
    if "not used" in kinds:
        out.append((marks.unused, "reading not counted"))
    if "expected" in kinds:
        out.append((marks.waiting, "sample waiting, where it is expected"))
    if spec.limits:
        out.append((lambda x, y: marks.wall(x - 2, y - 5.5, y + 5.5, True), "limit, strokes on the side not allowed"))
    if any(limit.acceptance is not None for limit in spec.limits):
        out.append((lambda x, y: marks.hatching(x - 6, x + 6, y - 5, y + 5), "guard band"))
    if spec.references:
        out.append((marks.ring, "reference, expected"))
    if any(r.read is not None for r in spec.references):
        out.append((marks.dot, "reference, read"))
    if spec.speaks:
        span = f"{spec.speaks.low:.4f} to {spec.speaks.high:.4f}"
        out.append((lambda x, y: marks.line(x - 6, y, x + 6, y, 3.4), f"the instrument may speak: {span}"))
    return out + _range_key(spec)


def range_words(instrument: InstrumentRange) -> str:
    """An instrument's range as the line names it."""
    span = f"{instrument.low:.3f} to {instrument.high:.3f}"
    may = "" if instrument.may_measure else "may not measure"
    return ", ".join(filter(None, (f"{instrument.name}: {may or span}", instrument.words)))


def _range_key(spec: LineSpec) -> list[KeyItem]:
    """The key of several instruments' ranges."""
    out: list[KeyItem] = []
    if any(r.may_measure for r in spec.ranges):
        out.append((lambda x, y: marks.span(x - 6, x + 6, y, True, False, False), "may measure in this range"))
    if any(not r.may_measure for r in spec.ranges):
        out.append((lambda x, y: marks.span(x - 6, x + 6, y, False, False, False), "may not measure now"))
    return out
