"""The picture of an isotherm: what stands where, both bases, in words too, and well formed whatever it is called."""

from __future__ import annotations

import xml.etree.ElementTree as ET
from typing import Any

import pytest

from isohume.foundation.quantity.errors import InputError
from isohume.outlets.paper.isotherm_chart import draw_isotherm, isotherm_table
from isohume.outlets.paper.isotherm_spec import IsothermSpec, SorptionCurve, SorptionLimit, SorptionPoint

SVG = "{http://www.w3.org/2000/svg}"
A_W = (0.1, 0.3, 0.5, 0.7, 0.9)


def curve(**more: Any) -> SorptionCurve:
    """A curve with a band."""
    moisture = (0.04, 0.07, 0.10, 0.17, 0.38)
    low, high = tuple(m - 0.01 for m in moisture), tuple(m + 0.01 for m in moisture)
    return SorptionCurve(**{"name": "GAB", "a_w": A_W, "moisture_db": moisture, "low": low, "high": high, **more})


def spec(**more: Any) -> IsothermSpec:
    """A whole picture."""
    points = [SorptionPoint(a, m) for a, m in zip(A_W, (0.041, 0.069, 0.101, 0.171, 0.379), strict=True)]
    limit = SorptionLimit(0.6, 0.13, 0.12, 0.14, 0.58, 0.62)
    given = {"title": "Isotherm of a bar", "points": points, "curves": [curve()], "limit": limit, "band": "95 %"}
    return IsothermSpec(**{**given, **more})


def parsed(one: IsothermSpec, width: float = 440.0) -> ET.Element:
    """The drawing as XML."""
    return ET.fromstring(draw_isotherm(one, width))


def centres(root: ET.Element, name: str) -> list[tuple[float, float]]:
    """Where the marks of a kind stand; the key has one of its own below the picture."""
    return [(float(e.attrib["cx"]), float(e.attrib["cy"])) for e in root.iter(f"{SVG}circle") if e.get("class") == name]


def test_points_stand_at_their_a_w_and_moisture() -> None:
    *points, _in_the_key = centres(parsed(spec()), "adsorption")
    xs, ys = zip(*points, strict=True)
    per_a_w = (xs[4] - xs[0]) / 0.8
    assert all(x == pytest.approx(xs[0] + per_a_w * (a - 0.1), abs=0.02) for x, a in zip(xs, A_W, strict=True))
    per_moisture = (ys[0] - ys[4]) / (0.379 - 0.041)
    assert ys[2] == pytest.approx(ys[0] - per_moisture * (0.101 - 0.041), abs=0.02)


def test_curve_and_band_are_three_lines() -> None:
    lines = [e for e in parsed(spec()).iter(f"{SVG}polyline") if e.get("class") == "curve"]
    assert len(lines) == 3
    assert all(len(e.attrib["points"].split()) == len(A_W) for e in lines)


def test_the_two_directions_are_told_apart_without_colour() -> None:
    both = spec(
        points=[SorptionPoint(0.3, 0.07), SorptionPoint(0.3, 0.08, "desorption")],
        curves=[curve(), curve(direction="desorption")],
    )
    root = parsed(both)
    assert [e for e in root.iter(f"{SVG}rect") if e.get("class") == "desorption"]
    dashes = {e.get("stroke-dasharray") for e in root.iter(f"{SVG}polyline")}
    assert len(dashes) == 2
    words = " ".join(e.text or "" for e in root.iter(f"{SVG}text"))
    assert "GAB, adsorption" in words
    assert "GAB, desorption" in words


def test_both_bases_stand_on_the_axes() -> None:
    words = [e.text for e in parsed(spec()).iter(f"{SVG}text")]
    assert "moisture, kg/kg dry basis" in words
    assert "% wet basis" in words
    root = parsed(spec())
    dry, wet = ({e.text: float(e.attrib["y"]) for e in root.iter(f"{SVG}text") if e.get("text-anchor") == side}
                for side in ("end", "start"))  # fmt: skip
    # 20 % wet basis is 0.25 kg/kg dry basis: it stands above 0.2 by the share 0.25/0.2 of the height
    assert (dry["0"] - wet["20"]) / (dry["0"] - dry["0.2"]) == pytest.approx(1.25, abs=0.01)


def test_the_limit_is_read_over_to_both_axes() -> None:
    with_it, without = draw_isotherm(spec()), draw_isotherm(spec(limit=None))
    assert 'class="interval"' in with_it
    assert "a_w limit 0.6" in with_it
    assert 'class="interval"' not in without
    assert "limit" not in without


@pytest.mark.parametrize("width", [330.0, 440.0, 700.0])
def test_nothing_is_drawn_outside_the_picture(width: float) -> None:
    root = parsed(spec(), width)
    _, _, wide, high = map(float, root.attrib["viewBox"].split())
    for e in root.iter():
        for name, most in (
            ("x", wide),
            ("cx", wide),
            ("x1", wide),
            ("x2", wide),
            ("y", high),
            ("cy", high),
            ("y2", high),
        ):
            if name in e.attrib:
                assert -0.01 <= float(e.attrib[name]) <= most + 0.01, (e.tag, e.attrib)


def test_the_table_says_every_point_and_the_curve_by_tenths() -> None:
    rows = isotherm_table(spec())
    assert rows[0] == ("adsorption, measured", "0.1", "0.0410", "3.94")
    assert ("a_w limit", "0.6", "0.1200 to 0.1400", "10.71 to 12.28") in rows
    assert [row[1] for row in rows if row[0] == "GAB, adsorption"] == ["0.1", "0.3", "0.5", "0.7", "0.9"]


def test_a_hostile_title_is_text() -> None:
    root = parsed(spec(title="<script>alert(1)</script>&\x00"))
    assert root.find(f"{SVG}title").text.startswith("<script>alert(1)</script>&")  # type: ignore[union-attr]
    assert not list(root.iter(f"{SVG}script"))


@pytest.mark.parametrize(
    ("make", "field"),
    [
        (lambda: IsothermSpec("t", []), "points"),
        (lambda: SorptionPoint(float("nan"), 0.1), "point"),
        (lambda: SorptionCurve("GAB", (0.1,), (0.1,)), "curve"),
        (lambda: SorptionCurve("GAB", (0.1, 0.2), (0.1, 0.2), (0.1,), (0.2,)), "curve.band"),
        (lambda: SorptionLimit(0.6, 0.1, float("inf"), 0.1, 0.5, 0.7), "limit"),
    ],
)
def test_what_cannot_be_drawn_is_refused(make: Any, field: str) -> None:
    with pytest.raises(InputError) as raised:
        make()
    assert raised.value.field == field
