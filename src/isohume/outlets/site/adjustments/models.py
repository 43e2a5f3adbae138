"""Changes of an instrument's scale: adjustments at the meter, corrections of its readings, and their caps."""

from __future__ import annotations

from django.db import models
from django.urls import reverse

from isohume.outlets.site.checks.models import Check
from isohume.outlets.site.config.named import Named
from isohume.outlets.site.people.models import Person
from isohume.outlets.site.register.models import Bottle, Instrument, Method

KINDS = ("adjustment", "service")
MOVES = ("adjusted", "serviced", "correction began", "correction ended")
OUT_OF_USE, RETURNED = "out of use", "returned"
EVENTS = (*MOVES, OUT_OF_USE, RETURNED)


class FreshPortion(Named):
    """A fresh portion of a reference, poured after a check failed; the next check reads it."""

    failed_check = models.ForeignKey(Check, on_delete=models.PROTECT, related_name="fresh_portions")
    bottle = models.ForeignKey(Bottle, on_delete=models.PROTECT, related_name="fresh_portions")
    at = models.DateTimeField()
    by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")

    def get_absolute_url(self) -> str:
        """It stands in the sequence of the check that failed."""
        return reverse("check_sequence", args=[self.failed_check_id])


class InstrumentAdjustment(Named):
    """The instrument itself was adjusted: what it read as found, what was done, and why; as left are checks after."""

    instrument = models.ForeignKey(Instrument, on_delete=models.PROTECT, related_name="adjustments")
    kind = models.CharField(max_length=12, choices=[(k, k) for k in KINDS])
    as_found = models.ForeignKey(Check, on_delete=models.PROTECT, related_name="adjustments")
    what = models.CharField(max_length=300)
    done_by = models.CharField(max_length=120)
    certificate = models.CharField(max_length=120, blank=True)  # of the calibration after a service
    readings = models.JSONField(default=list)  # [{reference, as_found, as_left}] of a service report, as typed
    reason = models.CharField(max_length=300)
    at = models.DateTimeField()
    entered_at = models.DateTimeField()
    by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")

    def get_absolute_url(self) -> str:
        """It stands on the page of its instrument's adjustments."""
        return reverse("adjustments", args=[self.instrument_id])


class CorrectionCaps(Named):
    """How far a correction may go under a method; another one is made, corrections keep the caps of their day."""

    method = models.ForeignKey(Method, on_delete=models.PROTECT, related_name="correction_caps")
    offset = models.CharField(max_length=12)
    slope = models.CharField(max_length=12)
    walk = models.CharField(max_length=12)
    reason = models.CharField(max_length=300)
    since = models.DateTimeField()
    by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")

    def get_absolute_url(self) -> str:
        """It stands on the page that sets them."""
        return reverse("correction_caps", args=[self.method_id])


class Correction(Named):
    """A version of what isohume makes of an instrument's readings. Never changed: it ends, or another is made."""

    instrument = models.ForeignKey(Instrument, on_delete=models.PROTECT, related_name="corrections")
    version = models.PositiveIntegerField()
    of_check = models.ForeignKey(Check, on_delete=models.PROTECT, related_name="corrections")
    offset = models.CharField(max_length=30)
    slope = models.CharField(max_length=30)
    u_offset = models.CharField(max_length=30)
    u_slope = models.CharField(max_length=30)
    covariance = models.CharField(max_length=30)
    lowest_read = models.CharField(max_length=16)
    highest_read = models.CharField(max_length=16)
    references = models.JSONField()  # [{name, read, u_read, expected, u_expected}], unrounded
    caps = models.JSONField()  # {offset, slope, walk} in force when it was made
    reason = models.CharField(max_length=300)
    since = models.DateTimeField()
    by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")
    ended_at = models.DateTimeField(null=True)
    ended_by = models.ForeignKey(Person, on_delete=models.PROTECT, null=True, related_name="+")
    ended_reason = models.CharField(max_length=300, blank=True)

    class Meta:
        """A version once an instrument; found by instrument and time."""

        constraints = (models.UniqueConstraint(fields=("instrument", "version"), name="correction_version_once"),)
        indexes = (models.Index(fields=("instrument", "since"), name="correction_by_time"),)

    def __str__(self) -> str:
        return f"correction {self.version} of {self.instrument}"


class ScaleChange(models.Model):
    """A moment from which an instrument's statements are on another scale: checks from before it say nothing after it.

    Taken out of use and returned are such moments too: what was done in between, or why, may have moved its scale.
    `low`, `high`: the a_w of the outermost references; the shifts: how far what is stated there was moved.
    """

    instrument = models.ForeignKey(Instrument, on_delete=models.PROTECT, related_name="scale_changes")
    at = models.DateTimeField()
    kind = models.CharField(max_length=20, choices=[(k, k) for k in EVENTS])
    about = models.CharField(max_length=60)  # the ledger's name of the adjustment or correction
    words = models.CharField(max_length=200)
    low = models.FloatField(null=True)
    low_shift = models.FloatField(null=True)
    high = models.FloatField(null=True)
    high_shift = models.FloatField(null=True)
    anew = models.BooleanField(default=False)  # a service with its calibration: the walk begins again

    class Meta:
        """Found by instrument and time."""

        indexes = (models.Index(fields=("instrument", "at"), name="scale_change_by_time"),)
