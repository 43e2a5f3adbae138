"""The picture and the table of a chart, kept in the process until what they show changes.

What is kept is found by the points themselves, the rules and the phases, not by a clock: a new check, a void one or
another rule asks for another picture at once. Within a day the axis of time is not drawn anew.
"""

from __future__ import annotations

from bisect import bisect_left
from collections import OrderedDict
from collections.abc import Hashable
from typing import NamedTuple
from zoneinfo import ZoneInfo

from markupsafe import Markup

from isohume.outlets.site.charts.page import picture, table_rows
from isohume.outlets.site.charts.series import Look

MOST = 64
_KEPT: OrderedDict[Hashable, Drawn] = OrderedDict()


class Drawn(NamedTuple):
    """What is costly to make of a chart."""

    svg: Markup | str
    table: Markup


def drawn(look: Look, zone: ZoneInfo) -> Drawn:
    """The picture and the table: those that were made of the same points, or made now."""
    key = _key(look, zone)
    found = _KEPT.pop(key, None)
    if found is None:
        found = Drawn(picture(look, zone) if look.control else "", table_rows(look, zone))
    _KEPT[key] = found
    while len(_KEPT) > MOST:
        _KEPT.popitem(last=False)
    return found


def _key(look: Look, zone: ZoneInfo) -> Hashable:
    """All that picture and table depend on; a chart belongs to one plant."""
    first = bisect_left(look.points, look.start_s, key=lambda point: point.at_s)
    days = tuple(moment.astimezone(zone).date() for moment in look.span)
    return look.chart.pk, str(look.chart), look.rules, look.points, look.starts, first, days, zone.key
