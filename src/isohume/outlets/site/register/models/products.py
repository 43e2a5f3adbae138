"""Products and their versioned specifications."""

from __future__ import annotations

from django.db import models

from isohume.outlets.site.config.named import Named
from isohume.outlets.site.people.models import Site
from isohume.outlets.site.register.models.methods import Method

SCOPE_FLAGS = ("frozen", "water-in-oil emulsion", "crystalline sugar or salt", "volatile")


class Product(Named):
    """What is made: its form on the bench, its components, what the method must know of it."""

    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="products")
    name = models.CharField(max_length=120)
    form = models.CharField(max_length=40)
    components = models.JSONField(default=list)
    scope_flags = models.JSONField(default=list)
    pack_atmosphere = models.CharField(max_length=120, blank=True)
    method = models.ForeignKey(Method, on_delete=models.PROTECT, related_name="products")

    class Meta:
        """A name once a plant."""

        constraints = (models.UniqueConstraint(fields=("site", "name"), name="product_name_once"),)

    @property
    def specification(self) -> SpecificationVersion | None:
        """The version in force: the last one made."""
        return self.specifications.order_by("pk").last()

    def __str__(self) -> str:
        return self.name


class SpecificationVersion(Named):
    """Limits with operator, temperature, component, rule and where the limit comes from. Never changed."""

    product = models.ForeignKey(Product, on_delete=models.PROTECT, related_name="specifications")
    version = models.CharField(max_length=20)
    component = models.CharField(max_length=60, blank=True)
    temperature_c = models.CharField(max_length=12)
    lower = models.CharField(max_length=16, blank=True)
    lower_operator = models.CharField(max_length=2, blank=True)
    upper = models.CharField(max_length=16, blank=True)
    upper_operator = models.CharField(max_length=2, blank=True)
    kind = models.CharField(max_length=10, choices=[("safety", "safety"), ("quality", "quality")])
    guard = models.CharField(max_length=8, default="2")
    allow_conditional = models.BooleanField(default=False)
    expected_a_w = models.CharField(max_length=16, blank=True)
    source = models.CharField(max_length=300)
    since = models.DateTimeField()

    class Meta:
        """A version number once a product."""

        constraints = (models.UniqueConstraint(fields=("product", "version"), name="specification_version_once"),)

    def __str__(self) -> str:
        return f"{self.product}, specification {self.version}"
