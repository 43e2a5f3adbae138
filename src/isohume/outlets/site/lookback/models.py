"""Look-back after a failed check: who held which list when; retained units of a lot; what of it left the house."""

from __future__ import annotations

from django.db import models

from isohume.outlets.site.bench.models import Lot
from isohume.outlets.site.checks.models import Check
from isohume.outlets.site.lots.models import Deviation
from isohume.outlets.site.people.models import Person


class ListHold(models.Model):
    """One act that put lots of a failed check's list on hold; `rows` are the whole list as it stood then."""

    of_check = models.ForeignKey(Check, on_delete=models.PROTECT, related_name="list_holds")
    reason = models.CharField(max_length=500)
    rows = models.JSONField()
    digest = models.CharField(max_length=64)  # of the canonical form of `rows`, which is kept as evidence
    at = models.DateTimeField()
    by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")


class HeldLot(models.Model):
    """A lot that such an act held, with the deviation that decides about it."""

    hold = models.ForeignKey(ListHold, on_delete=models.PROTECT, related_name="lots")
    lot = models.ForeignKey(Lot, on_delete=models.PROTECT, related_name="list_holds")
    deviation = models.OneToOneField(Deviation, on_delete=models.PROTECT, related_name="held_lot")

    class Meta:
        """A lot once an act."""

        constraints = (models.UniqueConstraint(fields=("hold", "lot"), name="held_once"),)


class Retain(models.Model):
    """Units of a lot put aside, where, and until when; what is used up is counted, never taken off the first number."""

    lot = models.ForeignKey(Lot, on_delete=models.PROTECT, related_name="retains")
    units = models.PositiveIntegerField()
    place = models.CharField(max_length=120)
    keep_until = models.DateField()
    at = models.DateTimeField()
    by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")

    @property
    def left(self) -> int:
        """How many are still there."""
        return self.units - sum(use.units for use in self.uses.all())


class RetainUse(models.Model):
    """Retained units that were used up or thrown away, and for what."""

    retain = models.ForeignKey(Retain, on_delete=models.PROTECT, related_name="uses")
    units = models.PositiveIntegerField()
    what_for = models.CharField(max_length=300)
    at = models.DateTimeField()
    by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")


class Shipment(models.Model):
    """What of a lot left the house: to whom, how much, on which day, and who is to be told there."""

    lot = models.ForeignKey(Lot, on_delete=models.PROTECT, related_name="shipments")
    consignee = models.CharField(max_length=200)
    contact = models.CharField(max_length=200, blank=True)
    quantity = models.CharField(max_length=80)
    shipped_on = models.DateField()
    at = models.DateTimeField()
    by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")


class Told(models.Model):
    """A consignee was told about a shipment: what, by whom, when."""

    shipment = models.ForeignKey(Shipment, on_delete=models.PROTECT, related_name="told")
    words = models.CharField(max_length=500)
    at = models.DateTimeField()
    by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")
