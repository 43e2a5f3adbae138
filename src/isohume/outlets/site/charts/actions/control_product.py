"""Mark a product as the control product of an instrument: each lot of it that is read there is a point of its chart."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, time
from zoneinfo import ZoneInfo

from isohume.foundation.quantity.errors import InputError
from isohume.outlets.site.charts.models import Chart
from isohume.outlets.site.ledger.actions import Action, By, Done
from isohume.outlets.site.people.models import Site
from isohume.outlets.site.people.roles import MANAGER
from isohume.outlets.site.register.actions.fields import needed_words, read_past_date
from isohume.outlets.site.register.models import Instrument, Product


@dataclass
class MarkControlProduct(Action[Chart]):
    """since: a day from which on its lots are points, as typed; blank is from now on."""

    name = "control_product_marked"
    said = "Marked a control product"
    roles = frozenset({MANAGER})

    at_site: Site
    product: Product | None
    instrument: Instrument | None
    since: str = ""
    reason: str = ""

    @property
    def site(self) -> Site:
        """The plant."""
        return self.at_site

    def refusals(self, by: By) -> Iterable[str]:
        """It is one already, or belongs to another plant."""
        if self.product is None or self.instrument is None:
            return
        if {self.product.site_id, self.instrument.site_id} != {self.at_site.pk}:
            yield "Product or instrument belongs to another plant."
        elif Chart.objects.filter(product=self.product, instrument=self.instrument, ended_at__isnull=True).exists():
            yield f"{self.product.name} is the control product of {self.instrument.name} already."

    def change(self, by: By) -> Done[Chart]:
        """Give it its chart; one that had ended goes on."""
        if self.product is None:
            raise InputError("product", "nothing", "a product of the plant")
        if self.instrument is None:
            raise InputError("instrument", "nothing", "an instrument of the plant")
        reason = needed_words(self.reason, "reason", 300, "why it is a control product: what is kept of it, and how")
        chart, _ = Chart.objects.get_or_create(
            instrument=self.instrument, product=self.product, defaults={"site": self.at_site}
        )
        chart.since, chart.ended_at = self._since(by), None
        chart.save(update_fields=["since", "ended_at"])
        details = {"product": self.product.name, "instrument": self.instrument.name, "from": chart.since.isoformat()}
        return Done(chart, chart.ref, [self.product.ref, self.instrument.ref], details, reason)

    def _since(self, by: By) -> datetime:
        if not self.since.strip():
            return by.at
        day = read_past_date(self.since, "since", self.at_site, by.at)
        return datetime.combine(day, time.min, ZoneInfo(self.at_site.time_zone))


@dataclass
class EndControlProduct(Action[Chart]):
    """Its chart stays; later lots are no points of it."""

    name = "control_product_ended"
    said = "Ended a control product"
    roles = frozenset({MANAGER})

    chart: Chart
    reason: str = ""

    @property
    def site(self) -> Site:
        """The chart's plant."""
        return self.chart.site

    def refusals(self, by: By) -> Iterable[str]:
        """It is one, and has not ended."""
        if self.chart.product is None:
            yield "This chart is of a reference solution: it goes on with every check."
        elif self.chart.ended_at is not None:
            yield f"{self.chart.product.name} is no longer a control product."

    def change(self, by: By) -> Done[Chart]:
        """From now on."""
        reason = needed_words(self.reason, "reason", 300, "why no longer")
        self.chart.ended_at = by.at
        self.chart.save(update_fields=["ended_at"])
        return Done(self.chart, self.chart.ref, [self.chart.instrument.ref], {"chart": str(self.chart)}, reason)
