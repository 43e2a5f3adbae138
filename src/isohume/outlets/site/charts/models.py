"""Control charts of instruments and control products: the rules a laboratory chose, points, dated events, signals."""

from __future__ import annotations

from django.db import models
from django.urls import reverse

from isohume.foundation.metrology.charts_by_point import EWMA_WEIGHT, KINDS, ChartRules
from isohume.foundation.metrology.run_rules import RULES
from isohume.outlets.site.checks.models import Check
from isohume.outlets.site.config.named import Named
from isohume.outlets.site.lots.models import Deviation
from isohume.outlets.site.people.models import Person, Site
from isohume.outlets.site.register.models import Instrument, Product

BASELINE = 20
CUSUM_HS = ("4", "4.77", "5")
SIGMAS = ("each phase its own", "one for all phases")


class Chart(Named):
    """One series: a reference solution on an instrument (from its first check on), or a control product on it."""

    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="charts")
    instrument = models.ForeignKey(Instrument, on_delete=models.PROTECT, related_name="charts")
    solution = models.CharField(max_length=60, blank=True)
    molality = models.CharField(max_length=16, blank=True)
    product = models.ForeignKey(Product, on_delete=models.PROTECT, null=True, related_name="charts")
    since = models.DateTimeField(null=True)  # of a control product: from when on its lots are points
    ended_at = models.DateTimeField(null=True)

    class Meta:
        """A series once."""

        constraints = (
            models.UniqueConstraint(
                fields=("instrument", "solution", "molality"),
                condition=models.Q(product__isnull=True),
                name="chart_of_reference_once",
            ),
            models.UniqueConstraint(
                fields=("instrument", "product"),
                condition=models.Q(product__isnull=False),
                name="chart_of_product_once",
            ),
        )

    @property
    def of(self) -> str:
        """What is read: the reference or the control product."""
        if self.product is not None:
            return self.product.name
        return self.solution + (f" {self.molality} mol/kg" if self.molality else "")

    def __str__(self) -> str:
        return f"{self.of} on {self.instrument.name}"


class ChartRule(Named):
    """What charts go by: for the plant (chart null) or one chart. Never changed: another version is made."""

    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="chart_rules")
    chart = models.ForeignKey(Chart, on_delete=models.PROTECT, null=True, related_name="chart_rules")
    kind = models.CharField(max_length=12, default="individuals", choices=[(k, k) for k in KINDS])
    rules = models.JSONField(default=list)  # names of run rules
    baseline = models.PositiveSmallIntegerField(default=BASELINE)
    weight = models.CharField(max_length=8, default=str(EWMA_WEIGHT))
    h = models.CharField(max_length=8, default="5")
    sigma = models.CharField(max_length=20, default=SIGMAS[0], choices=[(s, s) for s in SIGMAS])
    reason = models.CharField(max_length=300, blank=True)
    since = models.DateTimeField()
    by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")

    def get_absolute_url(self) -> str:
        """It stands on its chart's page, or on the list of charts."""
        return self.chart.get_absolute_url() if self.chart else reverse("charts")

    def __str__(self) -> str:
        return f"what {self.chart or 'every chart'} goes by"

    def as_rules(self, kind: str = "") -> ChartRules:
        """As the charts' arithmetic takes them; another kind where a page is asked for it."""
        return ChartRules(
            kind=kind or self.kind,
            rules=tuple(name for name in RULES if name in self.rules),
            baseline=self.baseline,
            weight=float(self.weight),
            h=float(self.h),
            common_sigma=self.sigma == SIGMAS[1],
        )


class ChartEvent(Named):
    """A dated event typed by a person: from it on a chart, or every chart of an instrument, begins a new phase."""

    instrument = models.ForeignKey(Instrument, on_delete=models.PROTECT, related_name="chart_events")
    chart = models.ForeignKey(Chart, on_delete=models.PROTECT, null=True, related_name="events")
    what = models.CharField(max_length=80)
    reason = models.CharField(max_length=300)
    at = models.DateTimeField()
    entered_at = models.DateTimeField()
    by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")

    def get_absolute_url(self) -> str:
        """It stands on its chart's page, or on its instrument's."""
        return (self.chart or self.instrument).get_absolute_url()

    def __str__(self) -> str:
        return self.what


class ChartPoint(models.Model):
    """One reference in one check, as charts need it: a projection of the check's result, filled with it."""

    chart = models.ForeignKey(Chart, on_delete=models.PROTECT, related_name="points")
    of_check = models.ForeignKey(Check, on_delete=models.PROTECT, related_name="chart_points")
    at_s = models.BigIntegerField()  # the check's last reading, in seconds: a year of points is read in a moment
    value = models.FloatField()  # the deviation, read less expected
    within = models.BooleanField()
    lot = models.CharField(max_length=60, blank=True)  # the reference's lot
    new_lot = models.BooleanField(default=False)  # the first point of a lot, but of the chart's first one

    class Meta:
        """Found by chart and time, with all that a look reads, so that it opens no table; new lots by themselves."""

        constraints = (models.UniqueConstraint(fields=("chart", "of_check"), name="chart_point_once"),)
        indexes = (
            models.Index(fields=("chart", "at_s", "id", "value", "within", "of_check"), name="chart_point_shown"),
            models.Index(fields=("chart",), condition=models.Q(new_lot=True), name="chart_point_of_new_lot"),
        )


class InUseChange(models.Model):
    """An instrument was taken out of use or returned: a projection of the ledger, filled with each check."""

    instrument = models.ForeignKey(Instrument, on_delete=models.PROTECT, related_name="in_use_changes")
    at = models.DateTimeField()
    what = models.CharField(max_length=40)


class LedgerSeen(models.Model):
    """How far the ledger was read for an instrument's changes."""

    instrument = models.OneToOneField(Instrument, on_delete=models.PROTECT, related_name="+")
    seq = models.BigIntegerField(default=0)


class ChartSignal(models.Model):
    """A signal that became a task: the run of points it speaks of, so that the same run opens no other."""

    chart = models.ForeignKey(Chart, on_delete=models.PROTECT, related_name="signals")
    side = models.SmallIntegerField()  # 1 high or rising, -1 low or falling
    first_at = models.DateTimeField()
    last_at = models.DateTimeField()
    deviation = models.ForeignKey(Deviation, on_delete=models.PROTECT, related_name="chart_signals")
