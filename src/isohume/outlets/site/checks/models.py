"""Checks on reference solutions, start sheets and cleanings."""

from __future__ import annotations

from django.db import models

from isohume.outlets.site.config.named import Named
from isohume.outlets.site.people.models import Person
from isohume.outlets.site.register.models import Bottle, Instrument, MethodVersion


class StartSheet(Named):
    """The start of an instrument's day: room, warm-up, block against the method."""

    instrument = models.ForeignKey(Instrument, on_delete=models.PROTECT, related_name="start_sheets")
    method_version = models.ForeignKey(MethodVersion, on_delete=models.PROTECT, related_name="+")
    room_temperature_c = models.CharField(max_length=12)
    room_rh_percent = models.CharField(max_length=12)
    warmed_up_since = models.DateTimeField()
    block_temperature_c = models.CharField(max_length=12)
    may_start = models.BooleanField()
    reasons = models.JSONField(default=list)
    at = models.DateTimeField()
    by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")


class Cleaning(Named):
    """A cleaning of chamber and rim; the next check of the instrument names it."""

    instrument = models.ForeignKey(Instrument, on_delete=models.PROTECT, related_name="cleanings")
    what = models.CharField(max_length=300)
    at = models.DateTimeField()
    by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")


class Check(Named):
    """One check: its verdict, the range it covers, and the whole result as it was judged."""

    instrument = models.ForeignKey(Instrument, on_delete=models.PROTECT, related_name="checks")
    method_version = models.ForeignKey(MethodVersion, on_delete=models.PROTECT, related_name="+")
    kind = models.CharField(max_length=10, choices=[("opening", "opening"), ("closing", "closing")])
    start_sheet = models.ForeignKey(StartSheet, on_delete=models.PROTECT, null=True, related_name="checks")
    cleaning = models.ForeignKey(Cleaning, on_delete=models.PROTECT, null=True, related_name="checks")
    limit = models.CharField(max_length=12)
    u_instrument = models.CharField(max_length=12)
    passed = models.BooleanField()  # every reference within, and no single reading beyond the limit
    may_measure = models.BooleanField()  # passed, and at least two references
    left_out = models.TextField(blank=True)  # references that failed before, in words; with any it gives no standing
    covers_low = models.FloatField(null=True)
    covers_high = models.FloatField(null=True)
    first_read_at = models.DateTimeField()
    last_read_at = models.DateTimeField()
    until = models.DateTimeField()  # the end of the standing that it gives
    result = models.JSONField()  # Check.as_json of bench.assurance, unrounded
    hints = models.JSONField(default=list)  # what the difference looks like, in words, as said at entry
    note = models.CharField(max_length=300, blank=True)
    voided_at = models.DateTimeField(null=True)  # a void check stays visible and protects nothing
    voided_by = models.ForeignKey(Person, on_delete=models.PROTECT, null=True, related_name="+")
    void_reason = models.CharField(max_length=300, blank=True)
    entered_at = models.DateTimeField()
    by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")

    class Meta:
        """Found by instrument and time."""

        indexes = (models.Index(fields=("instrument", "last_read_at"), name="check_by_time"),)

    def __str__(self) -> str:
        return f"{self.kind} check {self.pk} of {self.instrument}"


class CheckReading(models.Model):
    """One reading of a reference solution as typed."""

    of_check = models.ForeignKey(Check, on_delete=models.PROTECT, related_name="readings")
    bottle = models.ForeignKey(Bottle, on_delete=models.PROTECT, related_name="readings")
    temperature_c = models.CharField(max_length=12)
    a_w = models.CharField(max_length=16)
    read_at = models.DateTimeField()
