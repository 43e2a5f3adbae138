"""The pictures of strata and of a plan: well formed, told by shape and word, and the same as their tables."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET

import pytest

from isohume.foundation.metrology import acceptance_probability
from isohume.outlets.paper.line_marks import FAINT, INK, PAPER
from isohume.outlets.paper.oc_chart import OcSpec, draw_oc, oc_table
from isohume.outlets.paper.strata_chart import MOST_ROWS, StrataSpec, StratumRow, draw_strata, strata_table

FAMILY = "serif"
SVG = "{http://www.w3.org/2000/svg}"
CART = StrataSpec(
    "Positions of lot AS-7",
    (
        StratumRow("bottom front", (0.858, 0.860, 0.862, 0.864), 0.861, "worst, beyond the limit, n = 4"),
        StratumRow("composite", (0.812,), 0.812, "inside, n = 1", mixture=True),
        StratumRow("<b>top</b>\n", (0.811,), None, "more portions needed, n = 1"),
    ),
    ((0.850, True, 0.8423),),
)
PLAN = OcSpec(
    "A plan",
    tuple((f / 100, acceptance_probability(f / 100, 29, 0)) for f in range(31)),
    (("wet fraction", 0.10, acceptance_probability(0.10, 29, 0)),),
)


def texts(drawn: str) -> str:
    """Every word of a picture."""
    return " ".join(one.text or "" for one in ET.fromstring(drawn).iter(f"{SVG}text"))


@pytest.mark.parametrize("width", [330.0, 440.0, 700.0])
@pytest.mark.parametrize("draw", [lambda w: draw_strata(CART, w, 10, FAMILY), lambda w: draw_oc(PLAN, w, 10, FAMILY)])
def test_a_picture_is_well_formed_and_has_no_colour(draw, width: float) -> None:  # type: ignore[no-untyped-def]
    drawn = draw(width)
    root = ET.fromstring(drawn)
    assert root.find(f"{SVG}title") is not None
    assert set(re.findall(r'(?:fill|stroke)="([^"]+)"', drawn)) <= {INK, FAINT, PAPER, "none"}
    right = max(float(one.get("x", 0)) for one in root.iter(f"{SVG}text"))
    assert right <= width


def test_every_mark_has_its_shape_and_its_words() -> None:
    drawn = draw_strata(CART, 700.0, 10, FAMILY)
    assert drawn.count('class="reading"') == 6 + 1  # six portions, and one in the key
    assert drawn.count('class="result"') == 1 + 1
    assert drawn.count('class="waiting"') == 1 + 1  # the composite: an open lozenge
    assert 'class="limit"' in drawn
    assert 'class="guard"' in drawn
    said = texts(drawn)
    assert "bottom front: worst, beyond the limit, n = 4" in said
    assert "a mixture of places" in said
    assert "<b>" not in drawn


def test_the_table_says_the_same() -> None:
    rows = strata_table(CART)
    assert rows[0] == (
        "bottom front",
        "0.8610",
        "0.8580, 0.8600, 0.8620, 0.8640",
        "worst, beyond the limit, n = 4",
    )
    assert rows[2][1] == ""
    assert rows[-1] == ("highest allowed", "0.8500", "", "accepted up to 0.8423")


def test_many_positions_are_cut_from_the_picture_and_kept_in_the_table() -> None:
    rows = [StratumRow(f"rack {k}", (0.80,), 0.80, "inside") for k in range(36)]
    spec = StrataSpec("Many", rows, ((0.70, False, None),))
    assert f"and {36 - MOST_ROWS} more positions" in texts(draw_strata(spec, 440.0, 10, FAMILY))
    assert len(strata_table(spec)) == 37
    assert "lowest allowed" in texts(draw_strata(spec, 440.0, 10, FAMILY))


def test_the_curve_goes_through_its_point_and_the_table_names_it() -> None:
    assert 'class="point"' in draw_oc(PLAN, 700.0, 10, FAMILY)
    assert "wet fraction: 10 %, passes 4.71 %" in texts(draw_oc(PLAN, 700.0, 10, FAMILY))  # 0.9^29
    rows = {row[0]: row for row in oc_table(PLAN)}
    assert rows["10"] == ("10", "4.71", "wet fraction")
    assert rows["0"][1] == "100.00"
