"""The line on a screen is the line on paper, at the widths a screen has."""

from __future__ import annotations

import re

from markupsafe import Markup

from isohume.outlets.paper.aw_line import draw_line
from isohume.outlets.paper.line_spec import LimitMark, ValueMark, fitted
from isohume.outlets.site.look.screen_line import COLUMN, FAMILY, FONT_SIZE, screen_line

SPEC = fitted(
    "Lot <b>SB</b>",
    limits=[LimitMark(0.65, "<=", "0.650")],
    values=[ValueMark('<script>alert("x")</script>', 0.632, "0.632", half_width=0.007, half_width_typed="0.007")],
)


def test_a_wide_line_has_a_picture_for_each_width_and_a_narrow_one_only_its_own() -> None:
    assert re.findall(r'<svg class="([\w-]+)"', screen_line(SPEC).svg) == ["across", "across-small"]
    narrow = screen_line(SPEC, wide=False).svg
    assert narrow.replace(' class="column"', "", 1) == draw_line(SPEC, COLUMN, FONT_SIZE, FAMILY)


def test_words_of_people_stay_words() -> None:
    line = screen_line(SPEC)
    assert isinstance(line.svg, Markup)
    assert "<script" not in line.svg
    assert "<b>" not in line.svg
    assert "&lt;script&gt;" in line.svg


def test_the_table_has_the_marks() -> None:
    assert screen_line(SPEC).rows[1] == ("Upper limit", "≤ 0.650", "", "")
