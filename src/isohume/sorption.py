"""Sorption for notebooks: `from isohume.sorption import Points, fit, fit_panel, choose`."""

from __future__ import annotations

from typing import Any

from isohume.product import sorption as _sorption
from isohume.product.sorption import __all__ as __all__


def __getattr__(name: str) -> Any:
    return getattr(_sorption, name)


def __dir__() -> list[str]:
    return list(__all__)
