"""The tasks that signals of a chart became, as its page names them."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from django.db import connection

from isohume.outlets.site.charts.events import moment_of
from isohume.outlets.site.charts.models import Chart
from isohume.outlets.site.charts.parts import part_of
from isohume.outlets.site.lots.models import Deviation

TOLD = """
SELECT s.side, s.first_at, s.last_at, d.id, d.closed_at
FROM charts_chartsignal s JOIN lots_deviation d ON d.id = s.deviation_id WHERE s.chart_id = %s ORDER BY s.id
"""


@dataclass(frozen=True, slots=True)
class Told:
    """A run of points that has a task: which way, from when to when, the task's number, when it was closed."""

    side: int
    first_at: datetime
    last_at: datetime
    number: int
    closed_at: datetime | None

    @property
    def task(self) -> Deviation:
        """The task."""
        return part_of(Deviation, id=self.number, closed_at=self.closed_at)


def told_of(chart: Chart) -> tuple[Told, ...]:
    """Every run of a chart's points that became a task, oldest first."""
    with connection.cursor() as cursor:
        cursor.execute(TOLD, [chart.pk])
        rows = cursor.fetchall()
    return tuple(
        Told(side, moment_of(first), moment_of(last), number, moment_of(closed) if closed else None)
        for side, first, last, number, closed in rows
    )
