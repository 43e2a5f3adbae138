"""Second keying: do two people's keyings of one number agree, and if not, what does the difference look like?

The comparison names the slip and never picks one of the two: the display, the printout or the raw file decides.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import Literal

from isohume.foundation.quantity.errors import InputError
from isohume.foundation.quantity.typed import read_decimal

KeyingWords = Literal[
    "agree",
    "ERH in percent",
    "decimal slip",
    "two digits swapped",
    "one digit different",
    "one digit left out",
    "different",
]
_NOTHING_CHOSEN = (
    "Neither is taken: look at the display, the printout or the raw file again, "
    "and correct the wrong one with a reason."
)


@dataclass(frozen=True, slots=True)
class Keying:
    """Two keyings side by side as typed, what their difference looks like, and why; none of them is chosen."""

    first: str
    second: str
    words: KeyingWords
    difference: Decimal
    reasons: tuple[str, ...]

    @property
    def agree(self) -> bool:
        """Whether both are the same number (0.6310 and 0.631 are)."""
        return self.words == "agree"


def compare_keyings(first: str, second: str) -> Keying:
    """Compare two keyings of one number as decimals and name the slip that would explain a difference.

    first: the first person's keying as typed [text].
    second: the second person's keying as typed [text].
    Returns: the Keying [text]; `words` says "agree" or names the slip, `difference` is second minus first.
    Raises: InputError for a keying that is no number, with the field first or second.
    Example: 0.618 and 0.681 -> "two digits swapped"; 0.681 and 68.1 -> "ERH in percent".
    Source: none (kinds of slips of the pen named by the trade).
    """
    left, right = read_decimal(_typed(first, "first"), "first"), read_decimal(_typed(second, "second"), "second")
    words, why = _explain(left, right)
    shown = f"First keying {first.strip()}, second {second.strip()}: {why}"
    reasons = (shown,) if words == "agree" else (shown, _NOTHING_CHOSEN)
    return Keying(first.strip(), second.strip(), words, right - left, reasons)


def _typed(text: object, field: str) -> str:
    """A keying is text: a number that went through a float no longer holds the digits that were typed."""
    if not isinstance(text, str):
        raise InputError(field, text, "the number as it was typed, as text")
    return text.strip()


def _explain(left: Decimal, right: Decimal) -> tuple[KeyingWords, str]:
    if left == right:
        return "agree", "the same number."
    if left.is_signed() != right.is_signed():
        return "different", "they differ in sign."
    low, high = sorted((abs(left), abs(right)))
    if low * 100 == high and low <= 1 < high:
        return "ERH in percent", f"{high} looks like ERH in percent; as a fraction it is {low}."
    if _same_digits(low, high):
        return "decimal slip", "the same digits with the decimal point in another place."
    return _digit_slip(left, right)


def _digit_slip(left: Decimal, right: Decimal) -> tuple[KeyingWords, str]:
    a, b = aligned_digits(left, right)
    apart = [i for i, (x, y) in enumerate(zip(a, b, strict=True)) if x != y]
    if len(apart) == 2 and (a[apart[0]], a[apart[1]]) == (b[apart[1]], b[apart[0]]):
        return "two digits swapped", f"the digits {a[apart[0]]} and {a[apart[1]]} are swapped."
    if missing := _left_out(f"{abs(left):f}", f"{abs(right):f}"):
        return "one digit left out", f"one of them lacks the digit {missing}."
    if len(apart) == 1:
        return "one digit different", f"one digit differs, {a[apart[0]]} against {b[apart[0]]}."
    return "different", f"they differ by {abs(right - left):f}."


def aligned_digits(left: Decimal, right: Decimal) -> tuple[str, str]:
    """The digits of two numbers written with the same number of places before and after the point.

    left: a finite decimal [1].
    right: a finite decimal [1].
    Returns: the digits of both without sign and point [text].
    Source: none.
    """
    wholes, parts = zip(*(f"{abs(number):f}".partition(".")[::2] for number in (left, right)), strict=True)
    before, after = max(map(len, wholes)), max(map(len, parts))
    first, second = (w.rjust(before, "0") + p.ljust(after, "0") for w, p in zip(wholes, parts, strict=True))
    return first, second


def _same_digits(low: Decimal, high: Decimal) -> bool:
    return low != 0 and low.normalize().as_tuple().digits == high.normalize().as_tuple().digits


def _left_out(a: str, b: str) -> str:
    """The digit whose loss makes the longer text the shorter one, or nothing."""
    short, long = sorted((a, b), key=len)
    if len(long) != len(short) + 1:
        return ""
    return next((d for i, d in enumerate(long) if d.isdigit() and long[:i] + long[i + 1 :] == short), "")
