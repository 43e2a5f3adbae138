"""Limits that depend on another argument, such as the a_w below which the dew point lies under 0 degC."""

from __future__ import annotations

from typing import Any

from isohume.foundation.quantity.errors import RangeError
from isohume.foundation.quantity.ranges import ValidRange

A_W = ValidRange(0.0, 1.0, "", "a fraction, not percent")


def refuse_where(wrong: Any, field: str, value: Any, low: Any, high: Any, *, why: str, unit: str = "") -> None:
    """A RangeError with the limits of the first element for which `wrong` is true, if there is one."""
    if isinstance(wrong, bool):
        if wrong:
            raise RangeError(field, value, low, high, unit=unit, why=why)
        return
    import numpy as np

    where = [int(i) for i in np.flatnonzero(wrong)]
    if where:
        first = (float(np.broadcast_to(x, np.shape(wrong)).flat[where[0]]) for x in (value, low, high))
        raise RangeError(field, *first, unit=unit, offending=where, why=why)
