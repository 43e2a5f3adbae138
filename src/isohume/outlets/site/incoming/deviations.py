"""The deviations that speak of a supplier's lot: while one is open, the lot is not accepted."""

from __future__ import annotations

from django.db.models import QuerySet

from isohume.outlets.site.incoming.models import SupplierLot
from isohume.outlets.site.lots.models import Deviation


def deviations_about(lot: SupplierLot) -> QuerySet[Deviation]:
    """Every one, the newest first."""
    return Deviation.objects.filter(site=lot.site_id, about=lot.ref).order_by("-pk")


def open_about(lot: SupplierLot) -> QuerySet[Deviation]:
    """Those that are open."""
    return deviations_about(lot).filter(closed_at=None)
