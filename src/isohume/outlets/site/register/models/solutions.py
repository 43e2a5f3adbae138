"""Reference solutions: lots, how they were weighed, and the bottles they were filled into."""

from __future__ import annotations

from django.db import models

from isohume.outlets.site.config.named import Named
from isohume.outlets.site.people.models import Person, Site


class SolutionLot(Named):
    """One lot of a reference solution: saturated (molality blank) or prepared to a molality."""

    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="solution_lots")
    code = models.CharField(max_length=60)
    solution = models.CharField(max_length=60)
    molality = models.CharField(max_length=16, blank=True)
    made_on = models.DateField()
    made_by = models.ForeignKey(Person, on_delete=models.PROTECT, null=True, related_name="+")
    made_from = models.CharField(max_length=300, blank=True)
    certificate = models.CharField(max_length=200, blank=True)
    expires_on = models.DateField()
    withdrawn_reason = models.CharField(max_length=300, blank=True)

    class Meta:
        """A code once a plant."""

        constraints = (models.UniqueConstraint(fields=("site", "code"), name="solution_lot_code_once"),)

    @property
    def name(self) -> str:
        """The solution as people say it."""
        return self.solution + (f" {self.molality} mol/kg" if self.molality else " saturated")

    def __str__(self) -> str:
        return f"{self.name}, lot {self.code}"


class BalanceRecord(Named):
    """The weighing behind a solution lot, with the balance's own check."""

    solution_lot = models.ForeignKey(SolutionLot, on_delete=models.PROTECT, related_name="weighings")
    balance = models.CharField(max_length=60)
    salt_g = models.CharField(max_length=16)
    water_g = models.CharField(max_length=16)
    purity = models.CharField(max_length=60, blank=True)
    check_nominal_g = models.CharField(max_length=16)
    check_read_g = models.CharField(max_length=16)
    check_limit_g = models.CharField(max_length=16)
    check_passed = models.BooleanField()
    weighed_at = models.DateTimeField()
    weighed_by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")

    def get_absolute_url(self) -> str:
        """It stands on its lot's page."""
        return f"{self.solution_lot.get_absolute_url()}#balance-record"

    def __str__(self) -> str:
        return f"{self.solution_lot}, weighed on {self.balance}"


class Bottle(Named):
    """One bottle or dish of a solution lot."""

    solution_lot = models.ForeignKey(SolutionLot, on_delete=models.PROTECT, related_name="bottles")
    code = models.CharField(max_length=60)
    opened_at = models.DateTimeField(null=True)
    discard_on = models.DateField(null=True)
    discarded_at = models.DateTimeField(null=True)
    discarded_reason = models.CharField(max_length=300, blank=True)

    class Meta:
        """A code once a lot."""

        constraints = (models.UniqueConstraint(fields=("solution_lot", "code"), name="bottle_code_once"),)

    @property
    def scan_code(self) -> str:
        """What its label's QR code holds."""
        return f"iso:b:{self.pk}"

    def __str__(self) -> str:
        return f"{self.solution_lot.name}, bottle {self.code}"
