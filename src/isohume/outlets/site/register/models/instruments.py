"""Instruments: what measures, how it measures, and when its next calibration is due."""

from __future__ import annotations

from django.db import models

from isohume.outlets.site.config.named import Named
from isohume.outlets.site.people.models import Site

PRINCIPLES = ("dew-point measurement", "electrolyte conductivity", "polymer permittivity")


class Instrument(Named):
    """One meter on the bench. Limits of its check are the laboratory's own; numbers are kept as typed."""

    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="instruments")
    name = models.CharField(max_length=60)
    serial = models.CharField(max_length=60)
    principle = models.CharField(max_length=60, choices=[(p, p) for p in PRINCIPLES])
    measures_surface_temperature = models.BooleanField(default=False)
    location = models.CharField(max_length=120, blank=True)
    warm_up_min = models.PositiveSmallIntegerField(default=30)
    check_limit = models.CharField(max_length=12, default="0.005")
    u_instrument = models.CharField(max_length=12, default="0.0015")
    calibration_due = models.DateField(null=True)
    in_use = models.BooleanField(default=True)
    out_of_use_reason = models.CharField(max_length=300, blank=True)

    class Meta:
        """A name and a serial number once a plant."""

        constraints = (
            models.UniqueConstraint(fields=("site", "name"), name="instrument_name_once"),
            models.UniqueConstraint(fields=("site", "serial"), name="instrument_serial_once"),
        )

    @property
    def scan_code(self) -> str:
        """What its label's QR code holds."""
        return f"iso:i:{self.pk}"

    def __str__(self) -> str:
        return self.name
