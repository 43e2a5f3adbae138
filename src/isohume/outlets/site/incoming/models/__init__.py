"""Supplier lots against their certificate, and history brought from spreadsheets."""

from isohume.outlets.site.incoming.models.history import HistoricCheck, HistoricFile, HistoricLot, HistoricMapping
from isohume.outlets.site.incoming.models.suppliers import SupplierDetermination, SupplierLot, SupplierMaterial

__all__ = [
    "HistoricCheck",
    "HistoricFile",
    "HistoricLot",
    "HistoricMapping",
    "SupplierDetermination",
    "SupplierLot",
    "SupplierMaterial",
]
