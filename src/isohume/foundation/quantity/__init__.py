"""Values, limits, ranges, errors and sources: the words every other part speaks in."""

from isohume.foundation.quantity.errors import (
    InputError,
    IntegrityError,
    IsohumeError,
    RangeError,
    UnknownNameError,
)
from isohume.foundation.quantity.limits import Limit
from isohume.foundation.quantity.ranges import ValidRange
from isohume.foundation.quantity.rounding import round_together
from isohume.foundation.quantity.typed import read_a_w, read_decimal, read_temperature_c, read_time

__all__ = [
    "InputError",
    "IntegrityError",
    "IsohumeError",
    "Limit",
    "RangeError",
    "UnknownNameError",
    "ValidRange",
    "read_a_w",
    "read_decimal",
    "read_temperature_c",
    "read_time",
    "round_together",
]
