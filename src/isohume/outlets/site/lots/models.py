"""Companion determinations, the projection of frozen records, deviations."""

from __future__ import annotations

from django.db import models

from isohume.outlets.site.bench.models import Lot, Run
from isohume.outlets.site.checks.models import Check
from isohume.outlets.site.config.named import Named
from isohume.outlets.site.people.models import Person, Site

DEVIATION_KINDS = (
    "failed check", "out of specification", "keyings differ", "hold",
    "chart signal", "proficiency round", "supplier lot", "blind reference", "run not accounted for",
)  # fmt: skip
DISPOSITIONS = ("release", "hold", "reject")


class MoistureDetermination(Named):
    """Moisture of a lot from weights; numbers as typed. A later one replaces an earlier one for the record."""

    lot = models.ForeignKey(Lot, on_delete=models.PROTECT, related_name="moistures")
    basis = models.CharField(max_length=4, choices=[("wet", "wet basis"), ("dry", "dry basis")])
    method = models.CharField(max_length=120)
    dishes = models.JSONField()  # [{dish_g, with_sample_g, with_dry_g}] as typed
    check_nominal_g = models.CharField(max_length=16)
    check_read_g = models.CharField(max_length=16)
    check_limit_g = models.CharField(max_length=16)
    u_wet_basis = models.CharField(max_length=16, blank=True)
    at = models.DateTimeField()
    by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")


class PhDetermination(Named):
    """pH of a lot; numbers as typed."""

    lot = models.ForeignKey(Lot, on_delete=models.PROTECT, related_name="phs")
    values = models.JSONField()  # as typed
    temperature_c = models.CharField(max_length=12)
    method = models.CharField(max_length=120)
    buffers = models.JSONField()  # [{nominal, read, temperature_c}] as typed
    limit = models.CharField(max_length=12)
    u = models.CharField(max_length=12, blank=True)
    at = models.DateTimeField()
    by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")


class LotRecord(models.Model):
    """A frozen record as lists show it; the record itself is evidence."""

    lot = models.ForeignKey(Lot, on_delete=models.PROTECT, related_name="records")
    record = models.CharField(max_length=20, unique=True)
    digest = models.CharField(max_length=64)
    verdict = models.CharField(max_length=30)
    disposition = models.CharField(max_length=10)
    value = models.FloatField(null=True)
    u = models.FloatField(null=True)
    probability = models.FloatField(null=True)
    estimate = models.CharField(max_length=80, blank=True)  # what the value is where it was taken too early
    runs = models.ManyToManyField(Run, related_name="records")
    opening_check = models.ForeignKey(Check, on_delete=models.PROTECT, related_name="records")
    issued_at = models.DateTimeField()
    by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")

    @property
    def ref(self) -> str:
        """The name of this object in the ledger: the record's own id."""
        return self.record


class Deviation(Named):
    """Something that was not as it should be: owner, cause, action, and who closed it with a signature."""

    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="deviations")
    kind = models.CharField(max_length=30, choices=[(k, k) for k in DEVIATION_KINDS])
    what = models.CharField(max_length=500)
    lot = models.ForeignKey(Lot, on_delete=models.PROTECT, null=True, related_name="deviations")
    failed_check = models.ForeignKey(Check, on_delete=models.PROTECT, null=True, related_name="deviations")
    run = models.ForeignKey(Run, on_delete=models.PROTECT, null=True, related_name="deviations")
    about = models.CharField(max_length=60, blank=True)  # the name, in the ledger, of another object it speaks of
    owner = models.ForeignKey(Person, on_delete=models.PROTECT, null=True, related_name="deviations")
    cause = models.CharField(max_length=1000, blank=True)
    action = models.CharField(max_length=1000, blank=True)
    disposition = models.CharField(max_length=10, blank=True)  # of the lot, when it closed: release, reject
    opened_at = models.DateTimeField()
    opened_by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")
    closed_at = models.DateTimeField(null=True)
    closed_by = models.ForeignKey(Person, on_delete=models.PROTECT, null=True, related_name="+")

    class Meta:
        """Found by state."""

        indexes = (models.Index(fields=("site", "closed_at"), name="deviation_by_state"),)
