"""The pictures of a look-back on a screen, with the rows of their tables."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from markupsafe import Markup

from isohume.outlets.paper.look_back_bias import bias_table, draw_bias
from isohume.outlets.paper.look_back_lots import draw_lots, lots_table
from isohume.outlets.paper.look_back_spec import LookBackSpec
from isohume.outlets.site.look.screen_line import ACROSS, ACROSS_SMALL, COLUMN, FAMILY, FONT_SIZE

LOTS = ("Lot", "As read", "Corrected", "From, to", "Said of it")
BIAS = ("What", "a_w", "Deviation", "U = 2 u", "Said of it")
Picture = tuple[Markup, tuple[tuple[str, ...], ...]]


def screen_lots(spec: LookBackSpec) -> Picture:
    """The lots as read and corrected, over the page."""
    widths = (("across", ACROSS), ("across-small", ACROSS_SMALL))
    return _drawn(lambda width: draw_lots(spec, width, FONT_SIZE, FAMILY), widths), lots_table(spec)


def screen_bias(spec: LookBackSpec) -> Picture:
    """The bias against a_w, in one column."""
    return _drawn(lambda width: draw_bias(spec, width, FONT_SIZE, FAMILY), (("column", COLUMN),)), bias_table(spec)


def _drawn(draw: Callable[[float], str], widths: Sequence[tuple[str, float]]) -> Markup:
    """The drawing for each width; the style sheet shows the one that fits."""
    # every text of a drawing is escaped where it is drawn (line_marks.words), so the whole is markup
    return Markup("".join(draw(width).replace("<svg ", f'<svg class="{name}" ', 1) for name, width in widths))
