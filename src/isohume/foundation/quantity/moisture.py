"""Moisture between its two bases; a bare percentage has no meaning, so every name says its basis."""

from __future__ import annotations

from typing import Any

from isohume.foundation.quantity.ranges import ValidRange

_WET = ValidRange(0.0, 0.999999, "g/g wet basis")
_DRY = ValidRange(0.0, 1e6, "g/g dry basis")


def dry_from_wet(moisture_wb: Any) -> Any:
    """Moisture on dry basis from moisture on wet basis.

        X = w / (1 - w)
    moisture_wb: moisture on wet basis [g/g], float or array, 0 to below 1.
    Returns: moisture on dry basis [g/g], same shape.
    Raises: RangeError outside the range.
    Beyond: at 1 there are no solids and no dry basis.
    Example: dry_from_wet(0.080) = 0.0870 (8.0 % wet basis is 8.70 % dry basis).
    Source: none (definition).
    """
    _WET.check("moisture_wb", moisture_wb)
    return moisture_wb / (1 - moisture_wb)


def wet_from_dry(moisture_db: Any) -> Any:
    """Moisture on wet basis from moisture on dry basis.

        w = X / (1 + X)
    moisture_db: moisture on dry basis [g/g], float or array, 0 or more.
    Returns: moisture on wet basis [g/g], same shape.
    Raises: RangeError for negative moisture.
    Example: wet_from_dry(0.080) = 0.0741 (8.0 % dry basis is 7.41 % wet basis).
    Source: none (definition).
    """
    _DRY.check("moisture_db", moisture_db)
    return moisture_db / (1 + moisture_db)
