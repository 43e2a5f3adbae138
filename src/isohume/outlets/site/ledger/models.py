"""The trail: which ledger lines speak of an object. A projection; it can be rebuilt from the ledger."""

from __future__ import annotations

from django.db import models


class TrailLine(models.Model):
    """One ledger line that speaks of one object."""

    ref = models.CharField(max_length=80)
    seq = models.BigIntegerField()

    class Meta:
        """Found by object, in the ledger's order."""

        constraints = (models.UniqueConstraint(fields=("ref", "seq"), name="trail_once"),)
