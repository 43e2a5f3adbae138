"""Runs as typed or imported, their second keying; in-process readings; the hand-over note."""

from __future__ import annotations

from django.db import models

from isohume.bench.reading.runs import ESTIMATE, SETTLED
from isohume.outlets.site.bench.models.imports import ImportedFile
from isohume.outlets.site.bench.models.lots import Portion
from isohume.outlets.site.checks.models import Check
from isohume.outlets.site.config.named import Named
from isohume.outlets.site.people.models import Person, Site
from isohume.outlets.site.register.models import Instrument, MethodVersion, Product

STOPS = (SETTLED, ESTIMATE)
"""How a run ended by the method's criterion; empty where no trace was kept and nobody can tell."""
AT_REST = ~models.Q(stopped=ESTIMATE)
"""What statistics of the bench are made of: a value on its way says nothing of how well readings repeat."""


class Run(Named):
    """One attempt on one instrument. A correction is another run that names the one it corrects."""

    portion = models.ForeignKey(Portion, on_delete=models.PROTECT, related_name="runs")
    instrument = models.ForeignKey(Instrument, on_delete=models.PROTECT, related_name="runs")
    method_version = models.ForeignKey(MethodVersion, on_delete=models.PROTECT, related_name="+")
    opening_check = models.ForeignKey(Check, on_delete=models.PROTECT, related_name="runs")
    instrument_number = models.CharField(max_length=40, blank=True)  # the instrument's own sequence number
    a_w = models.CharField(max_length=16)
    sample_temperature_c = models.CharField(max_length=12, blank=True)
    block_temperature_c = models.CharField(max_length=12, blank=True)
    read_at = models.DateTimeField()
    override_reason = models.CharField(max_length=1000, blank=True)
    void_reason = models.CharField(max_length=1000, blank=True)
    voided_at = models.DateTimeField(null=True)
    voided_by = models.ForeignKey(Person, on_delete=models.PROTECT, null=True, related_name="+")
    corrects = models.OneToOneField("self", on_delete=models.PROTECT, null=True, related_name="corrected_by")
    correction_reason = models.CharField(max_length=300, blank=True)
    imported = models.ForeignKey(ImportedFile, on_delete=models.PROTECT, null=True, related_name="runs")
    imported_row = models.PositiveIntegerField(null=True)
    trace_sha256 = models.CharField(max_length=64, blank=True)  # of the trace kept as evidence, where it was captured
    stopped = models.CharField(max_length=30, blank=True, choices=[(s, s) for s in STOPS])
    u_estimate = models.CharField(max_length=16, blank=True)  # of a value that was taken before the criterion was met
    plausibility = models.CharField(max_length=300, blank=True)  # what the product's history said at entry
    entered_at = models.DateTimeField()
    by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")

    class Meta:
        """Found by portion and by instrument and time."""

        indexes = (models.Index(fields=("instrument", "read_at"), name="run_by_time"),)

    @property
    def typed(self) -> bool:
        """Whether a person keyed the number: it then needs a second keying before release."""
        return self.imported_id is None and not self.trace_sha256

    @property
    def counts(self) -> bool:
        """Whether it is neither void nor corrected by a later run."""
        return not self.void_reason and not hasattr(self, "corrected_by")


class SecondKeying(Named):
    """The number keyed a second time by another person, without seeing the first."""

    run = models.ForeignKey(Run, on_delete=models.PROTECT, related_name="second_keyings")
    a_w = models.CharField(max_length=16)
    agrees = models.BooleanField()
    words = models.CharField(max_length=300)
    at = models.DateTimeField()
    by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")


class InProcessReading(Named):
    """A reading for the line: drier or wetter. It belongs to no lot and no certificate can come of it."""

    product = models.ForeignKey(Product, on_delete=models.PROTECT, related_name="in_process")
    instrument = models.ForeignKey(Instrument, on_delete=models.PROTECT, related_name="+")
    where = models.CharField(max_length=120)
    a_w = models.CharField(max_length=16)
    target_low = models.CharField(max_length=16, blank=True)
    target_high = models.CharField(max_length=16, blank=True)
    advice = models.CharField(max_length=40)
    reasons = models.JSONField(default=list)
    read_at = models.DateTimeField()
    by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")


class HandOver(Named):
    """A note from one shift to the next."""

    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="hand_overs")
    text = models.CharField(max_length=1000)
    at = models.DateTimeField()
    by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")
