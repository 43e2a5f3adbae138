"""Say that something happened after which a chart is not simply comparable: a new phase begins there."""

from __future__ import annotations

from dataclasses import dataclass

from isohume.outlets.site.bench.moments import event_time
from isohume.outlets.site.charts.models import Chart, ChartEvent
from isohume.outlets.site.ledger.actions import Action, By, Done
from isohume.outlets.site.people.models import Site
from isohume.outlets.site.people.roles import MANAGER
from isohume.outlets.site.register.actions.fields import needed_words

WHOSE = ("this chart", "every chart of the instrument")


@dataclass
class AddEvent(Action[ChartEvent]):
    """at: when, as typed, blank is now. Adjustments, service, taking out of use and new lots are known without it."""

    name = "chart_event_added"
    said = "Added a dated event to a control chart"
    roles = frozenset({MANAGER})

    chart: Chart
    what: str = ""
    at: str = ""
    whose: str = WHOSE[0]
    reason: str = ""

    @property
    def site(self) -> Site:
        """The chart's plant."""
        return self.chart.site

    def change(self, by: By) -> Done[ChartEvent]:
        """Keep it; nothing that was read changes."""
        what = needed_words(self.what, "what", 80, "what happened, in a few words: moved to another bench")
        reason = needed_words(self.reason, "reason", 300, "why what was read before is not comparable")
        event = ChartEvent.objects.create(
            instrument=self.chart.instrument,
            chart=None if self.whose == WHOSE[1] else self.chart,
            what=what,
            reason=reason,
            at=event_time(self.at, "at", self.site, by.at),
            entered_at=by.at,
            by=by.person,
        )
        details = {"what": what, "at": event.at.isoformat(), "for": str(event.chart or event.instrument)}
        return Done(event, event.ref, [self.chart.ref, self.chart.instrument.ref], details, reason)
