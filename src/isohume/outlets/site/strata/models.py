"""Where a product's lots have places, and how many portions are taken of them: both as versions, never changed."""

from __future__ import annotations

from django.db import models

from isohume.outlets.site.config.named import Named
from isohume.outlets.site.people.models import Person
from isohume.outlets.site.register.models import Product

KINDS = ("seeing a wet fraction", "attributes", "variables")


class PositionMap(Named):
    """Rows and columns of a lot, such as racks and zones, and the places expected to be the worst, worst first."""

    product = models.ForeignKey(Product, on_delete=models.PROTECT, related_name="position_maps")
    version = models.PositiveIntegerField()
    rows = models.JSONField(default=list)
    columns = models.JSONField(default=list)
    worst = models.JSONField(default=list)
    reason = models.CharField(max_length=300)
    since = models.DateTimeField()
    by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")

    class Meta:
        """A version once a product."""

        constraints = (models.UniqueConstraint(fields=("product", "version"), name="position_map_version_once"),)

    @property
    def places(self) -> list[str]:
        """Every place, the expected worst ones first."""
        every = [
            " ".join(part for part in (row, column) if part) for row in self.rows for column in self.columns or [""]
        ]
        return [*self.worst, *(place for place in every if place not in self.worst)]

    def __str__(self) -> str:
        return f"{self.product}, position map {self.version}"


class SamplingPlan(Named):
    """How many portions of a lot are taken, and what makes it pass by the plan alone.

    given: the plan's points as typed, in percent. c for a plan by attributes, k for one by variables.
    """

    product = models.ForeignKey(Product, on_delete=models.PROTECT, related_name="sampling_plans")
    version = models.PositiveIntegerField()
    kind = models.CharField(max_length=24, choices=[(kind, kind) for kind in KINDS])
    given = models.JSONField(default=dict)
    n = models.PositiveIntegerField()
    c = models.PositiveIntegerField(null=True)
    k = models.CharField(max_length=24, blank=True)
    reason = models.CharField(max_length=300)
    since = models.DateTimeField()
    by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")

    class Meta:
        """A version once a product."""

        constraints = (models.UniqueConstraint(fields=("product", "version"), name="sampling_plan_version_once"),)

    def __str__(self) -> str:
        return f"{self.product}, sampling plan {self.version}"
