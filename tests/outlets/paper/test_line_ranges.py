"""Several instruments on one line, and the samples that wait for them."""

from __future__ import annotations

import itertools
from xml.etree import ElementTree

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from isohume.foundation.quantity.errors import InputError, RangeError
from isohume.outlets.paper.aw_line import draw_line
from isohume.outlets.paper.line_labels import text_width
from isohume.outlets.paper.line_rows import LineRow, line_table
from isohume.outlets.paper.line_spec import InstrumentRange, LineSpec, ValueMark, fitted

NS = "{http://www.w3.org/2000/svg}"
TODAY = fitted(
    "today",
    values=[
        ValueMark("2 oat base", 0.29, "0.29", "expected"),
        ValueMark("3 soft oat bar", 0.632, "0.632", "expected"),
    ],
    ranges=[
        InstrumentRange("OW-1", 0.3279, 0.7529, "6 h 10 min left"),
        InstrumentRange("OW-2", 0.113, 0.5288, "its check failed", may_measure=False),
    ],
)
A_W = st.floats(0.02, 1.0)
NAMES = st.text(st.characters(exclude_categories=["Cs"]), min_size=1, max_size=30)
RANGES = st.builds(
    lambda name, a, b, words, may: InstrumentRange(name, min(a, b), max(a, b), words, may),
    NAMES,
    A_W,
    A_W,
    NAMES,
    st.booleans(),
)
SAMPLES = st.builds(ValueMark, NAMES, A_W, st.just("0.500"), st.just("expected"))


def groups(spec: LineSpec, name: str) -> list[list[dict[str, float]]]:
    """The strokes of every group of a class."""
    root = ElementTree.fromstring(draw_line(spec))
    return [
        [{k: float(s.get(k, "0")) for k in ("x1", "x2", "y1", "y2")} for s in g]
        for g in root.iter(f"{NS}g")
        if g.get("class") == name
    ]


def test_each_instrument_has_its_bar_where_the_samples_say_it_is() -> None:
    root = ElementTree.fromstring(draw_line(TODAY))
    waiting = [p.get("points", "").split()[0].split(",") for p in root.iter(f"{NS}polygon")][:2]
    (x1, a1), (x2, a2) = zip((float(x) for x, _ in waiting), (0.29, 0.632), strict=True)
    slope = (x2 - x1) / (a2 - a1)
    bar = groups(TODAY, "range")[0][0]
    stopped = groups(TODAY, "range-stopped")[0][0]
    for strokes, low, high in ((bar, 0.3279, 0.7529), (stopped, 0.113, 0.5288)):
        assert a1 + (strokes["x1"] - x1) / slope == pytest.approx(low, abs=0.0002)
        assert a1 + (strokes["x2"] - x1) / slope == pytest.approx(high, abs=0.0002)
    assert bar["y1"] < stopped["y1"]


def test_words_say_how_long_and_why_not() -> None:
    words = " ".join(ElementTree.fromstring(draw_line(TODAY)).itertext())
    for said in (
        "OW-1: 0.328 to 0.753, 6 h 10 min left",
        "OW-2: may not measure, its check failed",
        "2 oat base: 0.29",
        "sample waiting, where it is expected",
        "may measure in this range",
        "may not measure now",
    ):
        assert said in words


def test_the_table_says_the_same() -> None:
    assert line_table(TODAY) == (
        LineRow("2 oat base, expected", "0.29", "", ""),
        LineRow("3 soft oat bar, expected", "0.632", "", ""),
        LineRow("OW-1", "", "0.3279 to 0.7529", "6 h 10 min left"),
        LineRow("OW-2", "", "0.1130 to 0.5288", "may not measure: its check failed"),
    )


@settings(derandomize=True, deadline=None, max_examples=80)
@given(ranges=st.lists(RANGES, min_size=1, max_size=5), samples=st.lists(SAMPLES, max_size=10))
def test_words_lie_inside_and_not_on_each_other(ranges: list[InstrumentRange], samples: list[ValueMark]) -> None:
    root = ElementTree.fromstring(draw_line(fitted("t", values=samples, ranges=ranges)))
    width, height = map(float, root.get("viewBox", "").split()[2:])
    boxes = []
    for element in root.iter(f"{NS}text"):
        size, x, y = (float(element.get(key, "0")) for key in ("font-size", "x", "y"))
        wide = text_width("".join(element.itertext()), size, element.get("font-weight") == "bold")
        left = {"end": x - wide, "middle": x - wide / 2}.get(element.get("text-anchor", ""), x)
        boxes.append((left, left + wide, y - 0.7 * size, y + 0.2 * size))
    for left, right, top, bottom in boxes:
        assert left >= -0.6
        assert right <= width + 0.6
        assert top >= -0.6
        assert bottom <= height + 0.6
    for a, b in itertools.combinations(boxes, 2):
        assert a[1] <= b[0] + 0.6 or b[1] <= a[0] + 0.6 or a[3] <= b[2] + 0.6 or b[3] <= a[2] + 0.6


def test_a_range_that_is_none_is_refused() -> None:
    with pytest.raises(InputError):
        InstrumentRange("OW-1", 0.7, 0.3)
    with pytest.raises(RangeError):
        InstrumentRange("OW-1", 0.3, 75.3)
