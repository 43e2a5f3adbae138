"""Review the control charts, as the week asks: a line that it was done, and a task for each signal that has none."""

from __future__ import annotations

from dataclasses import dataclass

from isohume.foundation.quantity.typed import read_words
from isohume.outlets.site.charts.queries import charts_of
from isohume.outlets.site.charts.tasks import open_tasks
from isohume.outlets.site.ledger.actions import Action, By, Done
from isohume.outlets.site.lots.models import Deviation
from isohume.outlets.site.people.models import Site
from isohume.outlets.site.people.roles import MANAGER


@dataclass
class ReviewCharts(Action[list[Deviation]]):
    """Each task is a deviation; recording a check opens those of its instrument by itself."""

    name = "charts_reviewed"
    said = "Reviewed the control charts"
    roles = frozenset({MANAGER})

    at_site: Site
    note: str = ""

    @property
    def site(self) -> Site:
        """The plant."""
        return self.at_site

    def change(self, by: By) -> Done[list[Deviation]]:
        """No task is opened twice for the same run of points."""
        note = read_words(self.note, "note", 300)
        opened = open_tasks([chart for chart in charts_of(self.at_site) if chart.ended_at is None], by)
        details = {"opened": [f"deviation {task.pk}" for task in opened] or "no task", "note": note or "none"}
        return Done(opened, self.at_site.ref, [task.ref for task in opened], details)
