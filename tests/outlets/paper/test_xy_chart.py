"""Drawings of points and lines: well formed, readable without colour, hostile words only words."""

import re
from xml.etree import ElementTree

import pytest

from isohume.outlets.paper.xy_chart import draw_xy
from isohume.outlets.paper.xy_spec import XyLine, XyPoint, XySpec

NS = "{http://www.w3.org/2000/svg}"
SPEC = XySpec(
    title="Two meters",
    x_title="mean, a_w",
    y_title="difference, a_w",
    points=(XyPoint(0.3, -0.001), XyPoint(0.5, 0.002, "square"), XyPoint(0.8, 0.0, "cross", -0.001, 0.001)),
    lines=(XyLine("equality", ((0.3, 0.0), (0.8, 0.001)), "7 3"),),
    levels=(XyLine("mean", ((0, 0.0003),)), XyLine("limit", ((0, 0.004),), "2 3")),
    mark_names=(("dot", "one"), ("square", "other"), ("cross", "third"), ("ring", "not there")),
    signed=True,
)


def texts(svg: str) -> list[str]:
    return [one.text or "" for one in ElementTree.fromstring(svg).iter(f"{NS}text")]


@pytest.mark.parametrize("width", [330.0, 440.0, 700.0])
def test_well_formed_and_within_its_frame(width: float) -> None:
    root = ElementTree.fromstring(draw_xy(SPEC, width))
    _, _, wide, high = (float(x) for x in root.attrib["viewBox"].split())
    assert wide == width
    for line in root.iter(f"{NS}line"):
        assert all(-1 <= float(line.attrib[key]) <= wide + 1 for key in ("x1", "x2"))
        assert all(-1 <= float(line.attrib[key]) <= high + 1 for key in ("y1", "y2"))


def test_higher_values_stand_higher() -> None:
    svg = draw_xy(SPEC, 440.0)
    root = ElementTree.fromstring(svg)
    dot = next(one for one in root.iter(f"{NS}circle"))
    square = next(one for one in root.iter(f"{NS}rect"))
    assert float(square.attrib["y"]) < float(dot.attrib["cy"])
    assert float(square.attrib["x"]) > float(dot.attrib["cx"])


def test_the_key_names_what_is_there_and_nothing_else() -> None:
    said = texts(draw_xy(SPEC))
    assert {"one", "other", "third", "equality", "mean", "limit"} <= set(said)
    assert "not there" not in said


def test_three_inks_only() -> None:
    assert set(re.findall(r'(?:fill|stroke)="(#\w+|none)"', draw_xy(SPEC))) <= {"#16181a", "#6b7075", "#ffffff", "none"}


def test_names_across_are_thinned_where_they_do_not_fit() -> None:
    names = tuple(f"round {i}" for i in range(1, 41))
    points = tuple(XyPoint(i, 0.1 * i) for i in range(1, 41))
    said = [text for text in texts(draw_xy(XySpec("t", "x", "y", points, x_names=names), 440.0)) if "round" in text]
    assert 2 <= len(said) <= 12


def test_long_names_across_are_cut() -> None:
    names = ("Harrow Lane", "a site with a very long name indeed")
    said = texts(draw_xy(XySpec("t", "x", "y", (XyPoint(1, 1), XyPoint(2, 2)), x_names=names), 440.0))
    assert {"Harrow Lane", "a site with a v…"} <= set(said)


def test_words_of_people_are_only_words() -> None:
    bad = "<script>alert(1)</script>&\"'\x07"
    svg = draw_xy(XySpec(bad, bad, bad, (XyPoint(1, 1),), x_names=(bad,), mark_names=(("dot", bad),)))
    assert "<script" not in svg
    ElementTree.fromstring(svg)


def test_a_single_point_has_room() -> None:
    ElementTree.fromstring(draw_xy(XySpec("t", "x", "y", (XyPoint(0.5, 0.0),))))
