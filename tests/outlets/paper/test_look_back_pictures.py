"""The pictures of a look-back: marks stand where the numbers say, and every number is in the table too."""

from __future__ import annotations

import re
from xml.etree import ElementTree

import pytest

from isohume.outlets.paper.look_back_bias import bias_table, draw_bias
from isohume.outlets.paper.look_back_lots import MOST, draw_lots, lots_table
from isohume.outlets.paper.look_back_spec import BiasMark, BiasPlace, LookBackSpec, LotMark

SVG = "{http://www.w3.org/2000/svg}"


def spec(names: tuple[str, ...] = ("SB-08", "SB-04", "SB-01"), **more: object) -> LookBackSpec:
    """Three lots of plant A: one beyond 0.650 once corrected, one in the guard band, one inside."""
    read = (0.645, 0.642, 0.631)
    lots = tuple(
        LotMark(name, a_w, a_w + 0.0107, 0.0071, upper=0.650, upper_acceptance=0.6442, words="pass, then fail")
        for name, a_w in zip(names, read * (1 + len(names) // 3), strict=False)
    )
    references = (
        BiasMark("MgCl2", 0.3278, -0.004, 0.0034, True),
        BiasMark("Mg(NO3)2", 0.5289, -0.009, 0.0038, False),
        BiasMark("NaCl", 0.7529, -0.012, 0.0032, False),
    )
    places = tuple(BiasPlace(name, 0.65, -0.0107, 0.0032) for name in names)
    given = {"lots": lots, "references": references, "places": places, "limit": 0.005, **more}
    return LookBackSpec("Look-back", curve=((0.3278, -0.004, 0.003), (0.7529, -0.012, 0.003)), **given)  # type: ignore[arg-type]


def middle(polygon: ElementTree.Element) -> float:
    """Where a lozenge stands."""
    return float(polygon.get("points", "").split()[0].split(",")[0])


def test_a_corrected_value_beyond_the_limit_stands_beyond_its_wall() -> None:
    root = ElementTree.fromstring(draw_lots(spec(), 700, 10, "serif"))
    lozenges = [middle(one) for one in root.iter(f"{SVG}polygon") if one.get("class") == "result"][:3]
    walls = [float(g[0].get("x1", "0")) for g in root.iter(f"{SVG}g") if g.get("class") == "limit"][:3]
    readings = [float(g[0].get("x1", "0")) for g in root.iter(f"{SVG}g") if g.get("class") == "reading"][:3]
    assert [x > wall for x, wall in zip(lozenges, walls, strict=True)] == [True, True, False]
    assert all(x < true for x, true in zip(readings, lozenges, strict=True)), "it read low"
    a_unit = (walls[0] - readings[0]) / (0.650 - 0.645)
    assert lozenges[2] - readings[2] == pytest.approx(0.0107 * a_unit, rel=0.01), "one scale for all"


def test_references_that_failed_are_crosses_and_those_within_are_dots() -> None:
    root = ElementTree.fromstring(draw_bias(spec(), 470, 10, "serif"))
    crosses = [g for g in root.iter(f"{SVG}g") if g.get("class") == "beyond"]
    dots = [c for c in root.iter(f"{SVG}circle") if c.get("class") == "within"]
    assert (len(crosses), len(dots)) == (3, 2), "two and one in the picture, one of each in its key"


@pytest.mark.parametrize("width", [330, 440, 470, 700])
def test_words_stay_inside_and_are_escaped(width: float) -> None:
    names = ("<script>", "L" * 60, "a & b\x07")
    for svg in (draw_lots(spec(names), width, 10, "serif"), draw_bias(spec(names), width, 10, "serif")):
        root = ElementTree.fromstring(svg)
        texts = list(root.iter(f"{SVG}text"))
        assert all(0 <= float(t.get("x", "-1")) <= width for t in texts)
        assert "<script>" not in svg


def test_only_the_worst_are_drawn_and_all_are_in_the_table() -> None:
    many = tuple(f"L{k}" for k in range(60))
    svg = draw_lots(spec(many), 700, 10, "serif")
    assert len(re.findall(r">L\d+<", svg)) == MOST
    assert len(lots_table(spec(many))) == 60


def test_every_number_of_the_pictures_is_in_a_table() -> None:
    lots, bias = lots_table(spec()), bias_table(spec())
    assert lots[0] == ("SB-08", "0.6450", "0.6557", "0.6486 to 0.6628", "pass, then fail")
    assert bias[1] == ("Mg(NO3)2", "0.5289", "\N{MINUS SIGN}0.0090", "0.0038", "not within")
    assert len(bias) == 6


def test_without_lots_there_is_still_a_bias() -> None:
    bare = spec((), lots=(), places=())
    assert ElementTree.fromstring(draw_bias(bare, 470, 10, "serif")).tag == f"{SVG}svg"
    assert ElementTree.fromstring(draw_lots(bare, 470, 10, "serif")).tag == f"{SVG}svg"
