"""Value and uncertainty rounded together, for screen and paper only; inside, nothing is rounded."""

from __future__ import annotations

import math
from decimal import ROUND_HALF_EVEN, Decimal

from isohume.foundation.quantity.errors import InputError

SIGNIFICANT_DIGITS_OF_U = 2


def round_together(value: float | Decimal, u: float | None, fallback_decimals: int = 4) -> tuple[str, str]:
    """Round an uncertainty to two significant digits and its value to the same decimal place.

    value: the value [1], any finite number.
    u: its standard uncertainty [1], zero or more; None where none is known.
    fallback_decimals: decimals shown where u is None or zero [1], 0 or more.
    Returns: the two texts (value, u) [text]; u is "" where none is known.
    Raises: InputError for a negative or non-finite u, or a value that is not finite.
    Example: round_together(0.84623, 0.00377) = ("0.8462", "0.0038").
    Source: JCGM100, 7.2.6.
    """
    exact = value if isinstance(value, Decimal) else Decimal(repr(float(value)))
    if not exact.is_finite():
        raise InputError("value", value, "a finite number")
    if u is None or u == 0:
        return _fixed(exact, fallback_decimals), "" if u is None else "0"
    if not math.isfinite(u) or u < 0:
        raise InputError("u", u, "a finite standard uncertainty, zero or more")
    decimals = _decimals_for(u)
    return _fixed(exact, decimals), _fixed(Decimal(repr(float(u))), decimals)


def _decimals_for(u: float) -> int:
    """Decimal places that leave two significant digits of u, also where rounding carries (0.0996 -> 0.10)."""
    exponent = math.floor(math.log10(u))
    decimals = SIGNIFICANT_DIGITS_OF_U - 1 - exponent
    rounded = Decimal(repr(float(u))).quantize(Decimal(1).scaleb(-decimals), ROUND_HALF_EVEN)
    if rounded.adjusted() > exponent:
        decimals -= 1
    return max(decimals, 0)


def _fixed(number: Decimal, decimals: int) -> str:
    return f"{number.quantize(Decimal(1).scaleb(-decimals), ROUND_HALF_EVEN):f}"
