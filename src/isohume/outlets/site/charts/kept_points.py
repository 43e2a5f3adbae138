"""The points of charts looked at lately, kept in the process: SQLite adds them up far sooner than it hands them over.

Before they are used again only points that came since are read, and the database adds up what it holds: how many, of
which checks, by how much they deviated, how many count. Where a sum or a void check differs all are read anew.
"""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Hashable
from dataclasses import dataclass
from datetime import datetime

import numpy as np
from django.db import connection

from isohume.outlets.site.charts.models import Chart
from isohume.outlets.site.charts.seen import SeenPoints
from isohume.outlets.site.charts.series import checks_between, seconds, void_checks

MOST = 64
NANO = 1e9
SUMS = """
SELECT count(*), sum(of_check_id), sum(CAST(value * {nano} AS INTEGER)), sum(within {not_void})
FROM charts_chartpoint WHERE chart_id = %s AND at_s BETWEEN %s AND %s
"""
Sums = tuple[int, ...]
_KEPT: OrderedDict[Hashable, KeptPoints] = OrderedDict()


@dataclass(frozen=True, slots=True)
class KeptPoints:
    """The points from a moment on, the newest of their checks, their sums, and the instrument's void checks."""

    points: SeenPoints
    newest: int
    sums: Sums
    void: frozenset[int]


def checks_kept(chart: Chart, begin: datetime | None, until: datetime) -> SeenPoints:
    """The points of a reference's chart from a moment on, as `checks_between` reads them."""
    key = (str(connection.settings_dict["NAME"]), chart.pk, begin)
    kept = _KEPT.pop(key, None)
    void = void_checks(chart)
    kept = _extended(kept, chart, begin, until) if kept is not None and kept.void == void else None
    if kept is None:
        points = checks_between(chart, begin, until, void=void)
        kept = KeptPoints(points, max(points.of, default=0), _sums(points), void)
    _KEPT[key] = kept
    while len(_KEPT) > MOST:
        _KEPT.popitem(last=False)
    return kept.points


def _extended(kept: KeptPoints, chart: Chart, begin: datetime | None, until: datetime) -> KeptPoints | None:
    """What is kept with the points that came since; None where the two are not what the database holds."""
    if not kept.points:
        return None
    later = checks_between(chart, kept.points[-1].at, until, kept.newest, kept.void)
    sums = tuple(one + other for one, other in zip(kept.sums, _sums(later), strict=True))
    if _sums_now(chart, begin, until, kept.void) != sums:
        return None
    return KeptPoints(kept.points.followed_by(later), max(later.of), sums, kept.void) if later else kept


def _sums(points: SeenPoints) -> Sums:
    """How many, of which checks, by how many billionths they deviated, how many count."""
    if not points:
        return (0, 0, 0, 0)
    deviations = (np.array(points.value) * NANO).astype(np.int64)
    return len(points), sum(points.of), int(deviations.sum()), sum(points.counted)


def _sums_now(chart: Chart, begin: datetime | None, until: datetime, void: frozenset[int]) -> Sums:
    """The same, as the database adds them up."""
    not_void = f"AND of_check_id NOT IN ({', '.join(map(str, sorted(void)))})" if void else ""
    with connection.cursor() as cursor:
        cursor.execute(SUMS.format(nano=NANO, not_void=not_void), [chart.pk, *seconds(begin, until)])
        sums: Sums = cursor.fetchone()
    return sums
