"""The drawings on a screen: the pictures that paper has, as wide and with words as large as a screen wants.

Its ink, its faint ink and its paper are turned into the theme's by look/drawn.css.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from markupsafe import Markup

from isohume.outlets.paper.aw_line import draw_line
from isohume.outlets.paper.isotherm_chart import draw_isotherm, isotherm_table
from isohume.outlets.paper.isotherm_spec import IsothermSpec
from isohume.outlets.paper.line_rows import line_table
from isohume.outlets.paper.line_spec import LineSpec
from isohume.outlets.paper.time_chart import draw_time_chart, time_chart_table
from isohume.outlets.paper.time_spec import TimeBreak, TimeLimits, TimePoint

FAMILY = "Liberation Sans, Arial, sans-serif"
FONT_SIZE = 10.0  # in the picture's units; drawn.css shows a unit as about 1.6 px, so that words are 16 px and more
ACROSS, ACROSS_SMALL, COLUMN = 700.0, 440.0, 330.0  # over the page, over a small page, in one column beside another


@dataclass(frozen=True, slots=True)
class ScreenLine:
    """A drawn line and its table: rows of what, a_w, stretch and words."""

    svg: Markup
    rows: tuple[tuple[str, str, str, str], ...]


def screen_line(spec: LineSpec, wide: bool = True) -> ScreenLine:
    """The a_w line of a specification: wide over the whole page, else for one column beside another."""
    svg = _pictures(lambda width: draw_line(spec, width, FONT_SIZE, FAMILY), wide)
    return ScreenLine(svg, tuple((row.what, row.a_w, row.stretch, row.words) for row in line_table(spec)))


def screen_chart(
    points: Sequence[TimePoint],
    *,
    centre: float | None,
    limits: TimeLimits,
    title: str,
    unit: str = "a_w",
    breaks: Sequence[TimeBreak] = (),
    wide: bool = False,
) -> ScreenLine:
    """A chart of deviations against time; its rows are moment, deviation, state and words."""

    def draw(width: float) -> str:
        return draw_time_chart(
            points,
            centre=centre,
            limits=limits,
            title=title,
            unit=unit,
            breaks=breaks,
            width=width,
            font_size=FONT_SIZE,
            family=FAMILY,
        )

    rows = time_chart_table(points, breaks)
    return ScreenLine(_pictures(draw, wide), tuple((r.at, r.deviation, r.state, r.words) for r in rows))


def screen_isotherm(spec: IsothermSpec, wide: bool = True) -> ScreenLine:
    """An isotherm: its rows are what, a_w, moisture on dry basis and on wet basis."""
    svg = _pictures(lambda width: draw_isotherm(spec, width, FONT_SIZE, FAMILY), wide)
    return ScreenLine(svg, isotherm_table(spec))


def _pictures(draw: Callable[[float], str], wide: bool) -> Markup:
    """The drawing for each width; its class says for which, and the style sheet shows the one that fits."""
    widths = (("across", ACROSS), ("across-small", ACROSS_SMALL)) if wide else (("column", COLUMN),)
    drawn = (draw(width).replace("<svg ", f'<svg class="{name}" ', 1) for name, width in widths)
    # every text of a drawing is escaped where it is drawn (line_marks.words), so the whole is markup
    return Markup("".join(drawn))
