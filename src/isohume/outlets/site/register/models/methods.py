"""Methods, their versions, and the uncertainty budget each version decides with."""

from __future__ import annotations

from django.db import models

from isohume.outlets.site.config.named import Named
from isohume.outlets.site.people.models import Site


class Method(Named):
    """A way of measuring; what it asks stands in its versions."""

    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="methods")
    name = models.CharField(max_length=120)

    class Meta:
        """A name once a plant."""

        constraints = (models.UniqueConstraint(fields=("site", "name"), name="method_name_once"),)

    @property
    def current(self) -> MethodVersion | None:
        """The version in force: the last one made."""
        return self.versions.order_by("pk").last()

    def __str__(self) -> str:
        return self.name


class MethodVersion(Named):
    """What a method asks of temperatures, times and portions. Never changed: another version is made."""

    method = models.ForeignKey(Method, on_delete=models.PROTECT, related_name="versions")
    version = models.CharField(max_length=20)
    document = models.CharField(max_length=200, blank=True)
    temperature_c = models.CharField(max_length=12, default="25.0")
    temperature_tolerance_c = models.CharField(max_length=12, default="0.5")
    mismatch_limit_c = models.CharField(max_length=12, blank=True)
    check_interval_h = models.CharField(max_length=12, default="24")
    equilibrium_criterion = models.CharField(max_length=200, blank=True)
    settled_change = models.CharField(max_length=12, blank=True)  # the criterion as a trace is judged by it:
    settled_window_s = models.CharField(max_length=12, blank=True)  # no more change than this within this window
    estimates_validated = models.CharField(max_length=300, blank=True)  # the document that lets an estimate release
    early_verdicts = models.BooleanField(default=False)  # may the live page say that waiting cannot change a verdict?
    portions = models.PositiveSmallIntegerField(default=2)
    open_limit_min = models.PositiveSmallIntegerField(default=10)
    lidded_limit_h = models.PositiveSmallIntegerField(default=4)
    film_limit_h = models.PositiveSmallIntegerField(default=48)
    since = models.DateTimeField()

    class Meta:
        """A version number once a method."""

        constraints = (models.UniqueConstraint(fields=("method", "version"), name="method_version_once"),)

    @property
    def budget(self) -> Budget | None:
        """The budget in force: the last one made; None is the starter budget of the published studies."""
        return self.budgets.order_by("pk").last()

    def __str__(self) -> str:
        return f"{self.method}, version {self.version}"


class Budget(Named):
    """The uncertainty a method version decides with; another one is made, old decisions keep theirs."""

    method_version = models.ForeignKey(MethodVersion, on_delete=models.PROTECT, related_name="budgets")
    basis = models.CharField(max_length=40, choices=[(b, b) for b in ("own data", "collaborative study")])
    u_other = models.CharField(max_length=12, blank=True)
    s_r = models.CharField(max_length=12, blank=True)
    s_reproducibility = models.CharField(max_length=12, blank=True)
    s_position = models.CharField(max_length=12, blank=True)
    source = models.CharField(max_length=300)
    since = models.DateTimeField()

    def get_absolute_url(self) -> str:
        """It stands on its method version's page."""
        return self.method_version.get_absolute_url()

    def __str__(self) -> str:
        return f"{self.method_version}, budget from {self.basis}"
