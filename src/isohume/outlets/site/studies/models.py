"""A study of sorption points, the isotherms kept of studies for a product, and its heat from a cited source."""

from __future__ import annotations

from typing import Any

from django.db import models

from isohume.outlets.site.config.named import Named
from isohume.outlets.site.people.models import Person, Site
from isohume.outlets.site.register.models import Product
from isohume.outlets.site.work.models import Job


class Study(Named):
    """Points of a product as their file says them, and what was calculated from them.

    columns: our column name -> the file's. direction, temperature_c: of all points, blank where a column says it.
    points: the rows' cells as typed, by our column names; count: how many. result: blank until the worker has fitted
    them; outcome: what came of each set in a word, for lists.
    """

    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="studies")
    product = models.ForeignKey(Product, on_delete=models.PROTECT, related_name="studies")
    formula_version = models.CharField(max_length=20)
    file_name = models.CharField(max_length=200)
    file_sha256 = models.CharField(max_length=64)
    columns = models.JSONField(default=dict)
    direction = models.CharField(max_length=12, blank=True)
    temperature_c = models.CharField(max_length=12, blank=True)
    points = models.JSONField(default=list)
    count = models.PositiveIntegerField()
    at = models.DateTimeField()
    by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")
    job = models.ForeignKey(Job, on_delete=models.PROTECT, null=True, related_name="+")
    result = models.JSONField(null=True)
    result_sha256 = models.CharField(max_length=64, blank=True)
    outcome = models.JSONField(default=list)
    fitted_at = models.DateTimeField(null=True)

    class Meta:
        """The same content once a product."""

        verbose_name_plural = "studies"
        constraints = (models.UniqueConstraint(fields=("product", "file_sha256"), name="studied_once"),)

    @property
    def sets(self) -> list[dict[str, Any]]:
        """What was fitted: each direction at each temperature apart."""
        return list(self.result["sets"]) if self.result else []

    def __str__(self) -> str:
        return f"Study {self.pk} of {self.product}"


class Isotherm(Named):
    """A version of a product's isotherm, signed. Never changed; a newer one of its kind puts it out of force.

    content: the set of the study's result it was kept of, whole. digest: of that content's canonical form.
    """

    product = models.ForeignKey(Product, on_delete=models.PROTECT, related_name="isotherms")
    version = models.PositiveIntegerField()
    study = models.ForeignKey(Study, on_delete=models.PROTECT, related_name="isotherms")
    formula_version = models.CharField(max_length=20)
    direction = models.CharField(max_length=12)
    temperature_c = models.CharField(max_length=12)
    model = models.CharField(max_length=40)
    content = models.JSONField()
    digest = models.CharField(max_length=64)
    reason = models.CharField(max_length=300, blank=True)
    since = models.DateTimeField()
    by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")

    class Meta:
        """A version once a product."""

        constraints = (models.UniqueConstraint(fields=("product", "version"), name="isotherm_version_once"),)

    def __str__(self) -> str:
        return f"{self.product}, isotherm {self.version}"


class KeptHeat(Named):
    """A version of a product's net heat of sorption from a source outside. Never changed; the last one is in force.

    Numbers as typed; the heat holds between two temperatures, and in a range of a_w, of moisture, or of both. A heat of
    the product's own isotherms is not kept: it follows from them at each reading.
    """

    product = models.ForeignKey(Product, on_delete=models.PROTECT, related_name="kept_heats")
    version = models.PositiveIntegerField()
    formula_version = models.CharField(max_length=20)
    value_kj_mol = models.CharField(max_length=12)
    u_kj_mol = models.CharField(max_length=12)
    low_c = models.CharField(max_length=12)
    high_c = models.CharField(max_length=12)
    low_a_w = models.CharField(max_length=16, blank=True)
    high_a_w = models.CharField(max_length=16, blank=True)
    low_moisture = models.CharField(max_length=16, blank=True)  # percent, dry basis
    high_moisture = models.CharField(max_length=16, blank=True)
    source = models.CharField(max_length=300)
    reason = models.CharField(max_length=300)
    since = models.DateTimeField()
    by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")

    class Meta:
        """A version once a product."""

        constraints = (models.UniqueConstraint(fields=("product", "version"), name="heat_version_once"),)

    def __str__(self) -> str:
        return f"{self.product}, heat of sorption {self.version}"
