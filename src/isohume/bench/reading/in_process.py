"""A reading for the line, without a lot: is what runs now drier or wetter than it should be?"""

from __future__ import annotations

import math
from dataclasses import dataclass
from decimal import Decimal
from typing import Literal

from isohume.foundation.quantity.errors import InputError

AdviceWords = Literal["drier", "wetter", "as it should be", "cannot tell"]
COVERAGE = 2
"""Coverage factor k of U = k u: about 95 % for a normal distribution."""
RELEASES_NOTHING = "This reading belongs to no lot: it releases nothing, and no certificate comes of it."


@dataclass(frozen=True, slots=True)
class Advice:
    """What a reading tells the line, and why; "drier" means that the product is drier than it should be."""

    words: AdviceWords
    reasons: tuple[str, ...]


def advise(a_w: Decimal, target_low: Decimal | None, target_high: Decimal | None, u: float) -> Advice:
    """Whether a product in process is drier or wetter than its target, where its uncertainty lets one say so.

        wetter: a_w - 2u > high;  drier: a_w + 2u < low;  as it should be: low <= a_w - 2u and a_w + 2u <= high
    a_w: the reading [1], above 0 to 1.
    target_low: lower end of the target [1], None where there is none.
    target_high: upper end of the target [1], None where there is none.
    u: standard uncertainty of the reading [1], zero or more.
    Returns: the Advice [text]; "cannot tell" where an end of the target lies within 2u of the reading.
    Raises: InputError for no target, a target whose ends are exchanged, or an a_w outside 0 to 1.
    Example: 0.672 with u 0.004 against 0.62 to 0.66 -> "wetter".
    Source: none (interval of k = 2 against the target; releases nothing).
    """
    _check(a_w, target_low, target_high, u)
    half = COVERAGE * Decimal(repr(float(u)))
    bottom, top = a_w - half, a_w + half
    target = _said(target_low, target_high)
    read = f"Read {a_w} (U = {float(half):.2g}, k = {COVERAGE}) against a target of {target}"
    if target_high is not None and bottom > target_high:
        return Advice("wetter", (f"{read}: wetter than it should be.", RELEASES_NOTHING))
    if target_low is not None and top < target_low:
        return Advice("drier", (f"{read}: drier than it should be.", RELEASES_NOTHING))
    if (target_low is None or bottom >= target_low) and (target_high is None or top <= target_high):
        return Advice("as it should be", (f"{read}: as it should be.", RELEASES_NOTHING))
    reasons = [f"{read}: an end of the target lies within the uncertainty of the reading; read another portion."]
    if target_low is not None and target_high is not None and target_high - target_low < 2 * half:
        reasons.append("The target is narrower than the uncertainty: no reading could say that it is as it should be.")
    return Advice("cannot tell", (*reasons, RELEASES_NOTHING))


def _check(a_w: Decimal, low: Decimal | None, high: Decimal | None, u: float) -> None:
    for field, value in (("a_w", a_w), ("target_low", low), ("target_high", high)):
        if value is not None and not (value.is_finite() and 0 < value <= 1):
            raise InputError(field, value, "a fraction greater than 0 and at most 1")
    if low is None and high is None:
        raise InputError("target_high", None, "a lower end, an upper end or both")
    if low is not None and high is not None and low > high:
        raise InputError("target_low", low, f"at most the upper end {high}")
    if not (u >= 0 and math.isfinite(u)):
        raise InputError("u", u, "a standard uncertainty, zero or more")


def _said(low: Decimal | None, high: Decimal | None) -> str:
    if low is None:
        return f"at most {high}"
    return f"at least {low}" if high is None else f"{low} to {high}"
