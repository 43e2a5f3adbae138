"""What is bought, from whom, to which limits; its lots with their certificate, and what was found on them here."""

from __future__ import annotations

from django.db import models

from isohume.outlets.site.config.named import Named
from isohume.outlets.site.people.models import Person, Site

LOT_STATES = ("waits", "accepted", "on hold", "rejected")
BASIS_WORDS = (("wet", "wet basis: g per 100 g of product"), ("dry", "dry basis: g per 100 g of solids"))
NOT_STATED = "not stated"


class SupplierMaterial(Named):
    """A version of what a material of one supplier may be. Never changed; the last one made is in force.

    key: supplier and material, casefolded: one in any case. Limits are the greatest values allowed, as typed.
    """

    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="supplier_materials")
    supplier = models.CharField(max_length=80)
    material = models.CharField(max_length=80)
    key = models.CharField(max_length=170)
    version = models.PositiveIntegerField()
    moisture_max = models.CharField(max_length=16, blank=True)  # percent, on `moisture_basis`
    moisture_basis = models.CharField(max_length=4, blank=True, choices=BASIS_WORDS)
    a_w_max = models.CharField(max_length=16, blank=True)
    temperature_c = models.CharField(max_length=12, blank=True)  # of the a_w limit
    source = models.CharField(max_length=300)
    since = models.DateTimeField()
    by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")

    class Meta:
        """A version once a material."""

        constraints = (models.UniqueConstraint(fields=("site", "key", "version"), name="material_version_once"),)

    def __str__(self) -> str:
        return f"{self.material} of {self.supplier}"


class SupplierLot(Named):
    """A supplier's lot with what its certificate states; numbers as printed there. `state` follows the decision.

    certificate_basis: wet, dry, or "not stated" where the certificate gives a bare percentage.
    """

    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="supplier_lots")
    material = models.ForeignKey(SupplierMaterial, on_delete=models.PROTECT, related_name="lots")
    code = models.CharField(max_length=60)
    key = models.CharField(max_length=240)
    certificate = models.CharField(max_length=120, blank=True)  # its number or date, in words
    certificate_moisture = models.CharField(max_length=16, blank=True)
    certificate_basis = models.CharField(max_length=10, blank=True)
    certificate_u_moisture = models.CharField(max_length=16, blank=True)
    certificate_a_w = models.CharField(max_length=16, blank=True)
    certificate_u_a_w = models.CharField(max_length=16, blank=True)
    certificate_temperature_c = models.CharField(max_length=12, blank=True)
    received_at = models.DateTimeField()
    state = models.CharField(max_length=10, default="waits", choices=[(s, s) for s in LOT_STATES])
    decided_at = models.DateTimeField(null=True)
    decided_by = models.ForeignKey(Person, on_delete=models.PROTECT, null=True, related_name="+")
    reason = models.CharField(max_length=500, blank=True)
    entered_at = models.DateTimeField()
    by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")

    class Meta:
        """A code once a supplier's material, in any case."""

        constraints = (models.UniqueConstraint(fields=("site", "key"), name="supplier_lot_once"),)

    def __str__(self) -> str:
        return f"{self.code}, {self.material}"


class SupplierDetermination(Named):
    """What was found here on a supplier's lot, as typed. A later one replaces an earlier one; both are kept.

    moisture: percent on `basis`, typed; blank where weights give it. dishes: [{dish_g, with_sample_g, with_dry_g}].
    """

    lot = models.ForeignKey(SupplierLot, on_delete=models.PROTECT, related_name="determinations")
    method = models.CharField(max_length=120)
    moisture = models.CharField(max_length=16, blank=True)
    basis = models.CharField(max_length=4, blank=True)
    u_moisture = models.CharField(max_length=16, blank=True)  # percent, on `basis`; with weights on wet basis
    dishes = models.JSONField(default=list)
    check_nominal_g = models.CharField(max_length=16, blank=True)
    check_read_g = models.CharField(max_length=16, blank=True)
    check_limit_g = models.CharField(max_length=16, blank=True)
    a_w = models.CharField(max_length=16, blank=True)
    u_a_w = models.CharField(max_length=16, blank=True)
    temperature_c = models.CharField(max_length=12, blank=True)
    portions = models.PositiveIntegerField(default=1)
    at = models.DateTimeField()
    by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")
