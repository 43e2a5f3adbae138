"""Imported files and the saved mappings of their columns; the file's bytes are evidence, found by digest."""

from __future__ import annotations

from django.db import models

from isohume.outlets.site.config.named import Named
from isohume.outlets.site.people.models import Person, Site


class ColumnMapping(Named):
    """How the columns of a laboratory's own files are called: our name -> theirs."""

    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="mappings")
    name = models.CharField(max_length=80)
    columns = models.JSONField(default=dict)
    by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")

    class Meta:
        """A name once a plant."""

        constraints = (models.UniqueConstraint(fields=("site", "name"), name="mapping_name_once"),)

    def __str__(self) -> str:
        return self.name


class ImportedFile(Named):
    """A file that runs were imported from: once a plant, by its digest."""

    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="imported_files")
    sha256 = models.CharField(max_length=64)
    name = models.CharField(max_length=200)
    mapping = models.ForeignKey(ColumnMapping, on_delete=models.PROTECT, null=True, related_name="+")
    rows = models.PositiveIntegerField()
    at = models.DateTimeField()
    by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")

    class Meta:
        """The same content once."""

        constraints = (models.UniqueConstraint(fields=("site", "sha256"), name="imported_once"),)
