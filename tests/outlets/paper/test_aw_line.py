"""The drawn a_w line, read back from its SVG: places, words, shapes."""

from __future__ import annotations

import itertools
import re
from xml.etree import ElementTree

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from isohume.outlets.paper.aw_line import draw_line
from isohume.outlets.paper.line_labels import text_width
from isohume.outlets.paper.line_spec import LimitMark, LineSpec, Reference, Speaks, ValueMark, Window, fitted

NS = "{http://www.w3.org/2000/svg}"
A_W = st.floats(0.02, 1.0)
NAMES = st.text(st.characters(exclude_categories=["Cs"]), min_size=1, max_size=40)
REFERENCES = st.lists(
    st.builds(Reference, NAMES, A_W, st.none() | A_W, st.sampled_from([None, True, False])), max_size=5
)
VALUES = st.lists(
    st.builds(
        ValueMark,
        NAMES,
        A_W,
        st.just("0.5000"),
        st.sampled_from(["result", "reading", "not used"]),
        st.none() | st.floats(0, 0.05),
        st.just("0.0100"),
    ),
    max_size=6,
)
LIMITS = st.lists(
    st.builds(LimitMark, A_W, st.sampled_from(["<", "<=", ">", ">="]), st.just("0.650"), st.none() | A_W),
    min_size=1,
    max_size=2,
)
SPECS = st.builds(
    fitted,
    NAMES,
    REFERENCES,
    st.none() | st.builds(lambda a, b: Speaks(min(a, b), max(a, b)), A_W, A_W),
    LIMITS,
    VALUES,
)
PLANT_A = fitted(
    "Lot SB-1124-07",
    (Reference("MgCl2", 0.3279742, 0.3286, True), Reference("NaCl", 0.7529611, 0.7542, True)),
    Speaks(0.3279742, 0.7529611),
    [LimitMark(0.65, "<=", "0.650", 0.6438092, "0.6438")],
    [
        ValueMark("mean of 2", 0.6323, "0.6323", "result", 0.0075, "0.0075"),
        ValueMark("run 41", 0.6315, "0.6315", "reading"),
        ValueMark("run 43", 0.6334, "0.6334", "not used"),
    ],
)


def tree(spec: LineSpec) -> ElementTree.Element:
    return ElementTree.fromstring(draw_line(spec))


def box_of(root: ElementTree.Element) -> tuple[float, float]:
    width, height = map(float, root.get("viewBox", "").split()[2:])
    return width, height


def text_boxes(root: ElementTree.Element) -> list[tuple[float, float, float, float]]:
    """Left, right, top and bottom of every text, from its anchor and a width estimate."""
    out = []
    for element in root.iter(f"{NS}text"):
        words = "".join(element.itertext())
        size, x, y = (float(element.get(key, "0")) for key in ("font-size", "x", "y"))
        wide = text_width(words, size, element.get("font-weight") == "bold")
        left = {"end": x - wide, "middle": x - wide / 2}.get(element.get("text-anchor", ""), x)
        out.append((left, left + wide, y - 0.7 * size, y + 0.2 * size))
    return out


def scale_of(root: ElementTree.Element, y_of: float) -> tuple[float, float]:
    """Slope and offset of x over a_w, found from the printed numbers of the axis just below height `y_of`."""
    numbers = [
        (float(t.get("y", "0")), float(t.text), float(t.get("x", "0")))
        for t in root.iter(f"{NS}text")
        if t.get("text-anchor") == "middle" and t.text and re.fullmatch(r"\d\.\d+", t.text)
    ]
    row = min(y for y, _, _ in numbers if y > y_of)
    ends = sorted((a_w, x) for y, a_w, x in numbers if y == row)
    (a1, x1), (a2, x2) = ends[0], ends[-1]
    slope = (x2 - x1) / (a2 - a1)
    return slope, x1 - slope * a1


@settings(derandomize=True, deadline=None, max_examples=150)
@given(spec=SPECS)
def test_all_words_lie_inside_the_view_box_and_not_on_each_other(spec: LineSpec) -> None:
    root = tree(spec)
    width, height = box_of(root)
    boxes = text_boxes(root)
    for left, right, top, bottom in boxes:
        assert left >= -0.6
        assert right <= width + 0.6
        assert top >= -0.6
        assert bottom <= height + 0.6
    for a, b in itertools.combinations(boxes, 2):
        apart = a[1] <= b[0] + 0.6 or b[1] <= a[0] + 0.6 or a[3] <= b[2] + 0.6 or b[3] <= a[2] + 0.6
        assert apart


@settings(derandomize=True, deadline=None, max_examples=100)
@given(spec=SPECS)
def test_references_stand_where_the_printed_axis_says(spec: LineSpec) -> None:
    root = tree(spec)
    shapes = list(root.iter(f"{NS}circle"))
    key_height = max(float(t.get("y", "0")) for t in root.iter(f"{NS}text") if t.get("text-anchor") == "middle")
    for kind, expected in (
        ("expected", [r.expected for r in spec.references]),
        ("read", [r.read for r in spec.references if r.read is not None]),
    ):
        drawn = [c for c in shapes if c.get("class") == kind and float(c.get("cy", "0")) < key_height]
        found = []
        for circle in drawn:
            slope, offset = scale_of(root, float(circle.get("cy", "0")))
            found.append((float(circle.get("cx", "0")) - offset) / slope)
        # coordinates carry two decimals, over 390 units for at least 0.02 of a_w
        for a_w in expected:
            assert any(abs(a_w - f) < 0.0001 * max(1.0, 50 * (spec.overview or spec.window).width) for f in found)


@settings(derandomize=True, deadline=None, max_examples=100)
@given(spec=SPECS)
def test_the_picture_is_the_same_each_time_and_needs_nothing_from_outside(spec: LineSpec) -> None:
    svg = draw_line(spec)
    assert svg == draw_line(spec)
    assert not re.search(r"href|url\(|@import|<style|<script|<image", re.sub(r">[^<]*<", "><", svg))
    assert "NaN" not in re.sub(r">[^<]*<", "><", svg)


def test_no_colour_is_used() -> None:
    for colour in re.findall(r"#[0-9a-f]{6}", draw_line(PLANT_A)):
        channels = [int(colour[i : i + 2], 16) for i in (1, 3, 5)]
        assert max(channels) - min(channels) <= 12


def test_every_mark_has_its_words_and_the_key_explains_it() -> None:
    words = [" ".join(t.itertext()) for t in tree(PLANT_A).iter(f"{NS}text")]
    for expected in (
        "mean of 2: 0.6323 ± 0.0075",
        "limit ≤ 0.650",
        "acceptance limit ≤ 0.6438",
        "MgCl2 0.3280, read 0.3286",
        "NaCl 0.7530, read 0.7542",
        "guard band",
        "reading that counts",
        "reading not counted",
        "the instrument may speak: 0.3280 to 0.7530",
    ):
        assert expected in words
    assert not [w for w in words if "%" in w]


def test_a_key_explains_only_what_is_drawn() -> None:
    words = " ".join(tree(fitted("t", (Reference("NaCl", 0.753),))).itertext())
    assert "reference, expected" in words
    assert "reference, read" not in words
    assert "guard band" not in words
    assert "limit" not in words


@pytest.mark.parametrize(("operator", "acceptance", "side"), [("<=", 0.6438, 1), (">", 0.6562, -1)])
def test_the_wall_has_its_strokes_on_the_forbidden_side_and_the_hatching_on_the_other(
    operator: str, acceptance: float, side: int
) -> None:
    spec = fitted("t", limits=[LimitMark(0.65, operator, "0.650", acceptance)])  # type: ignore[arg-type]
    root = tree(spec)
    wall = next(g for g in root.iter(f"{NS}g") if g.get("class") == "limit")
    pole, *strokes = [[float(s.get(k, "0")) for k in ("x1", "x2")] for s in wall]
    assert strokes
    assert all((x2 - pole[0]) * side > 0 for _, x2 in strokes)
    guard = next(g for g in root.iter(f"{NS}g") if g.get("class") == "guard")
    assert all((pole[0] - float(s.get(k, "0"))) * side > -0.02 for s in guard for k in ("x1", "x2"))


def test_what_lies_beyond_a_chosen_window_is_named_at_its_end_with_an_arrow() -> None:
    spec = LineSpec(Window(0.5, 0.6), limits=(LimitMark(0.65, "<=", "0.650"),))
    words = [t.text for t in tree(spec).iter(f"{NS}text")]
    assert "limit ≤ 0.650 →" in words


def test_an_interval_that_leaves_the_window_has_no_cap_there() -> None:
    value = ValueMark("result", 0.55, "0.55", "result", 0.2, "0.20")
    root = tree(LineSpec(Window(0.5, 0.6), values=(value,)))
    first = next(g for g in root.iter(f"{NS}g") if g.get("class") == "interval")
    assert len(list(first)) == 1


def test_results_that_overlap_stand_in_lanes_of_their_own() -> None:
    values = [ValueMark(f"lot {i}", 0.60 + i / 1000, "0.60", "result", 0.01, "0.01") for i in range(3)]
    lozenges = [p for p in tree(fitted("t", values=values)).iter(f"{NS}polygon") if p.get("class") == "result"]
    heights = {p.get("points", "").split()[0].split(",")[1] for p in lozenges[:3]}
    assert len(heights) == 3
