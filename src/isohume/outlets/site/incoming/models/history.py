"""Checks and lots of the time before: brought from spreadsheets, historical and unverified for ever.

They stand in tables of their own, and nothing leads from them to a check, a run, a lot or a record: what judges and
releases does not know them.
"""

from __future__ import annotations

from django.db import models

from isohume.outlets.site.config.named import Named
from isohume.outlets.site.people.models import Person, Site
from isohume.outlets.site.register.models import Instrument, Product

UNVERIFIED = "historical, unverified"
KINDS = (("checks", "past checks of instruments"), ("lots", "past lots of products"))


class HistoricMapping(Named):
    """How the columns of a plant's own spreadsheets are called: our name -> theirs."""

    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="historic_mappings")
    kind = models.CharField(max_length=6, choices=KINDS)
    name = models.CharField(max_length=80)
    columns = models.JSONField(default=dict)
    by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")

    class Meta:
        """A name once a plant."""

        constraints = (models.UniqueConstraint(fields=("site", "name"), name="historic_mapping_once"),)

    def __str__(self) -> str:
        return self.name


class HistoricFile(Named):
    """A spreadsheet that history was brought from: once a plant, by its digest. Its bytes are evidence."""

    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="historic_files")
    kind = models.CharField(max_length=6, choices=KINDS)
    sha256 = models.CharField(max_length=64)
    name = models.CharField(max_length=200)
    mapping = models.ForeignKey(HistoricMapping, on_delete=models.PROTECT, null=True, related_name="+")
    origin = models.CharField(max_length=300)  # where it comes from and who kept it, in words
    rows = models.PositiveIntegerField()
    at = models.DateTimeField()
    by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")

    class Meta:
        """The same content once."""

        constraints = (models.UniqueConstraint(fields=("site", "sha256"), name="historic_file_once"),)

    def __str__(self) -> str:
        return self.name


class HistoricCheck(models.Model):
    """A past reading of a reference solution, as its spreadsheet says it."""

    file = models.ForeignKey(HistoricFile, on_delete=models.PROTECT, related_name="checks")
    row = models.PositiveIntegerField()
    instrument = models.ForeignKey(Instrument, on_delete=models.PROTECT, related_name="historic_checks")
    on = models.DateField()
    reference = models.CharField(max_length=80)
    expected_a_w = models.CharField(max_length=16)
    a_w = models.CharField(max_length=16)
    temperature_c = models.CharField(max_length=12, blank=True)


class HistoricLot(models.Model):
    """A past lot, as its spreadsheet says it: one value, or two of separate portions."""

    file = models.ForeignKey(HistoricFile, on_delete=models.PROTECT, related_name="lots")
    row = models.PositiveIntegerField()
    product = models.ForeignKey(Product, on_delete=models.PROTECT, related_name="historic_lots")
    component = models.CharField(max_length=60, blank=True)
    on = models.DateField()
    code = models.CharField(max_length=60)
    a_w = models.CharField(max_length=16)
    second_a_w = models.CharField(max_length=16, blank=True)
    temperature_c = models.CharField(max_length=12, blank=True)
