"""Lots, their samples, and the portions that are read."""

from __future__ import annotations

from django.db import models

from isohume.outlets.site.config.named import Named
from isohume.outlets.site.people.models import Person, Site
from isohume.outlets.site.register.models import Product, SpecificationVersion

LOT_STATES = ("open", "judged", "on hold", "released", "rejected")
COVERS = ("open", "lidded", "film-wrapped")


class Lot(Named):
    """A lot under test. `state` follows its records, deviations and signatures."""

    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="lots")
    code = models.CharField(max_length=60)
    key = models.CharField(max_length=60)  # the code, casefolded: SB-1 and sb-1 are one lot
    product = models.ForeignKey(Product, on_delete=models.PROTECT, related_name="lots")
    specification = models.ForeignKey(SpecificationVersion, on_delete=models.PROTECT, related_name="lots")
    description = models.CharField(max_length=200, blank=True)
    produced_on = models.DateField(null=True)
    received_at = models.DateTimeField()
    customer = models.CharField(max_length=120, blank=True)
    state = models.CharField(max_length=12, default="open", choices=[(s, s) for s in LOT_STATES])
    entered_at = models.DateTimeField()
    by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")

    class Meta:
        """A code once a plant, in any case; listed by state and newest first."""

        constraints = (models.UniqueConstraint(fields=("site", "key"), name="lot_code_once"),)
        indexes = (models.Index(fields=("site", "state", "-received_at"), name="lot_by_state"),)

    def __str__(self) -> str:
        return self.code


class Sample(Named):
    """A laboratory sample of a lot: from where, which component, in which condition it came."""

    lot = models.ForeignKey(Lot, on_delete=models.PROTECT, related_name="samples")
    code = models.CharField(max_length=60)
    position = models.CharField(max_length=120)
    component = models.CharField(max_length=60, blank=True)
    sealed = models.BooleanField()
    temperature_c = models.CharField(max_length=12, blank=True)
    received_at = models.DateTimeField()
    by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")

    class Meta:
        """A code once a lot."""

        constraints = (models.UniqueConstraint(fields=("lot", "code"), name="sample_code_once"),)

    def __str__(self) -> str:
        return f"{self.lot.code} / {self.code}"


class Portion(Named):
    """One cup of a sample. A second read of the same cup is a re-read, never a replicate."""

    sample = models.ForeignKey(Sample, on_delete=models.PROTECT, related_name="portions")
    code = models.CharField(max_length=20)
    cover = models.CharField(max_length=12, choices=[(c, c) for c in COVERS])
    covered_at = models.DateTimeField()  # since when it has been covered (or open) so
    prepared_at = models.DateTimeField()
    temperature_c = models.CharField(max_length=12, blank=True)  # when last measured
    temperature_at = models.DateTimeField(null=True)
    done = models.BooleanField(default=False)  # read well enough, or discarded
    discarded_reason = models.CharField(max_length=300, blank=True)
    by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")

    class Meta:
        """A code once a sample."""

        constraints = (models.UniqueConstraint(fields=("sample", "code"), name="portion_code_once"),)

    @property
    def scan_code(self) -> str:
        """What its label's QR code holds."""
        return f"iso:p:{self.pk}"

    def __str__(self) -> str:
        return f"{self.sample.lot.code} / {self.sample.code} / {self.code}"
