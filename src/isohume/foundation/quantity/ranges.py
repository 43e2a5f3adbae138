"""Valid ranges: a model carries one, and a number beyond it raises; nothing is ever clamped.

Works on plain floats and on arrays alike; the array library is touched only when an array comes in, so
that a verb that needs one number starts without it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

from isohume.foundation.quantity.errors import InputError, RangeError


@dataclass(frozen=True, slots=True)
class ValidRange:
    """The closed interval in which a model was stated to hold, with its unit and where that was said."""

    low: float
    high: float
    unit: str = ""
    why: str = ""

    def check(self, field: str, value: Any) -> None:
        """Raise a RangeError naming `field` unless every element of `value` lies inside; NaN is outside."""
        if isinstance(value, (int, float)):
            if not math.isfinite(value):
                raise InputError(field, value, f"a finite number, {self}")
            if not self.low <= value <= self.high:
                raise RangeError(field, value, self.low, self.high, unit=self.unit, why=self.why)
            return
        self._check_array(field, value)

    def _check_array(self, field: str, value: Any) -> None:
        import numpy as np

        flat = np.asarray(value, dtype=float).ravel()
        bad = np.flatnonzero(~((flat >= self.low) & (flat <= self.high)))
        if bad.size:
            worst = float(flat[bad[0]])
            raise RangeError(field, worst, self.low, self.high, unit=self.unit, why=self.why, offending=bad.tolist())

    def holds(self, value: float) -> bool:
        """Whether a single number lies inside."""
        return self.low <= value <= self.high

    def __str__(self) -> str:
        unit = f" {self.unit}" if self.unit else ""
        return f"{self.low:.6g} to {self.high:.6g}{unit}"
