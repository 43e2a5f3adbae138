"""The register's tables, one file a concern."""

from isohume.outlets.site.register.models.instruments import Instrument
from isohume.outlets.site.register.models.methods import Budget, Method, MethodVersion
from isohume.outlets.site.register.models.products import Product, SpecificationVersion
from isohume.outlets.site.register.models.solutions import BalanceRecord, Bottle, SolutionLot

__all__ = [
    "BalanceRecord",
    "Bottle",
    "Budget",
    "Instrument",
    "Method",
    "MethodVersion",
    "Product",
    "SolutionLot",
    "SpecificationVersion",
]
