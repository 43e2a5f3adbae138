"""The pictures of this app on a screen, each with the rows of its table."""

from __future__ import annotations

from isohume.outlets.paper.oc_chart import OcSpec, draw_oc, oc_table
from isohume.outlets.paper.strata_chart import StrataSpec, draw_strata, strata_table
from isohume.outlets.site.look.screen_line import FAMILY, FONT_SIZE, _pictures
from isohume.outlets.site.strata.plans import PlanFound

OC_HEADERS = ("Fraction beyond the limit, %", "Lots that pass, %", "What")
STRATA_HEADERS = ("Position", "a_w", "Portions", "Said of it")


class Drawn:
    """A picture and its table."""

    def __init__(self, svg: object, headers: tuple[str, ...], rows: tuple[tuple[str, ...], ...]) -> None:
        self.svg, self.headers, self.rows = svg, headers, rows


def oc_picture(found: PlanFound) -> Drawn:
    """The operating characteristic of a plan."""
    spec = OcSpec("Operating characteristic of the plan", found.curve, found.points)
    svg = _pictures(lambda width: draw_oc(spec, width, FONT_SIZE, FAMILY), True)
    return Drawn(svg, OC_HEADERS, oc_table(spec))


def strata_picture(spec: StrataSpec) -> Drawn:
    """The positions of a lot beside its limits."""
    svg = _pictures(lambda width: draw_strata(spec, width, FONT_SIZE, FAMILY), True)
    return Drawn(svg, STRATA_HEADERS, strata_table(spec))
