"""Numbers and times as people type them: read exactly, or refused with the field, the value and what is allowed.

Nothing is repaired silently: a decimal comma is accepted where it can mean only one thing and is reported in
`notes`; a percentage where a fraction belongs, a Fahrenheit temperature and the like are questions, not input.
"""

from __future__ import annotations

import re
import unicodedata
from datetime import UTC, datetime
from decimal import Decimal, InvalidOperation

from isohume.foundation.quantity.errors import InputError

_NUMBER = re.compile(r"[+-]?(\d+(\.\d*)?|\.\d+)([eE][+-]?\d{1,3})?", re.ASCII)
_COMMA = re.compile(r"[+-]?\d*,\d+", re.ASCII)
_FAHRENHEIT = re.compile(r"[+-]?[\d.,]+\s*(°\s*F|degF|deg F|F|fahrenheit)", re.IGNORECASE)
_THOUSANDS = re.compile(r"[+-]?[1-9]\d{0,2},\d{3}", re.ASCII)
_UNPRINTABLE = frozenset(("Cc", "Cs", "Co", "Zl", "Zp"))  # control, half and private characters, line ends
_REVERSING = frozenset("\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069")
TEMPERATURE_LOW_C, TEMPERATURE_HIGH_C = Decimal(-50), Decimal(150)
MOST_DIGITS, MOST_EXPONENT = 25, 30
"""What decimal arithmetic of 28 digits carries exactly; no quantity of the trade comes near either."""


def read_decimal(
    text: object,
    field: str,
    allowed: str = "a number",
    notes: list[str] | None = None,
    *,
    thousands_possible: bool = True,
) -> Decimal:
    """A decimal exactly as typed.

    text: what was typed [text], or a number already.
    field: the field's name for the error [text].
    allowed: what the field allows, for the error [text].
    notes: a list that collects remarks, such as a decimal comma read as a point [text].
    thousands_possible: whether 1,234 could also be a thousand [1]; then that comma is refused.
    Returns: the decimal [1], with the digits as typed.
    Raises: InputError for blanks, NaN, infinities, words, thousands separators.
    Beyond: more than 25 digits, or a size beyond 1e-30 to 1e30, is refused.
    Source: none.
    """
    if isinstance(text, bool):
        raise InputError(field, text, allowed)
    if isinstance(text, (int, float, Decimal)):
        number = text if isinstance(text, Decimal) else Decimal(repr(text))
        if not number.is_finite():
            raise InputError(field, text, f"{allowed} (finite)")
        return _of_sane_size(number, text, field, allowed)
    if not isinstance(text, str):
        raise InputError(field, text, allowed)
    return _of_sane_size(_from_text(text, field, allowed, notes, thousands_possible), text, field, allowed)


def _from_text(text: str, field: str, allowed: str, notes: list[str] | None, thousands_possible: bool) -> Decimal:
    stripped = text.strip()
    if not stripped:
        raise InputError(field, text, f"{allowed} (it is blank)")
    if _COMMA.fullmatch(stripped):
        if thousands_possible and _THOUSANDS.fullmatch(stripped):
            point, none = stripped.replace(",", "."), stripped.replace(",", "")
            raise InputError(field, text, f"{allowed}; is {point} or {none} meant?")
        if notes is not None:
            notes.append(f"{field}: decimal comma in {stripped} read as {stripped.replace(',', '.')}")
        stripped = stripped.replace(",", ".")
    if not _NUMBER.fullmatch(stripped):
        raise InputError(field, text, allowed + _hint(stripped))
    try:
        return Decimal(stripped)
    except InvalidOperation as error:  # pragma: no cover - the pattern admits only decimals
        raise InputError(field, text, allowed) from error


def _of_sane_size(number: Decimal, typed: object, field: str, allowed: str) -> Decimal:
    digits = len(number.as_tuple().digits)
    if digits > MOST_DIGITS:
        raise InputError(field, typed, f"{allowed}; at most {MOST_DIGITS} digits, not {digits}")
    if abs(number.adjusted()) > MOST_EXPONENT:
        size = f", 1e-{MOST_EXPONENT} to 1e{MOST_EXPONENT} in size" if allowed == "a number" else ""
        raise InputError(field, typed, allowed + size)
    return number


def _hint(text: str) -> str:
    if text.lower().lstrip("+-") in ("nan", "inf", "infinity"):
        return " (finite)"
    if text.count(",") + text.count(".") > 1:
        return " without thousands separators"
    if text.endswith("%"):
        return ", a fraction without a percent sign"
    return ""


def read_a_w(text: object, field: str = "a_w", notes: list[str] | None = None) -> Decimal:
    """A water activity as typed: a fraction, never a percentage.

    text: what was typed [text].
    field: the field's name for the error [text].
    notes: a list that collects remarks [text].
    Returns: the water activity [1], greater than 0 and at most 1.
    Raises: InputError; 65.2 is answered with the question whether ERH in percent was meant.
    Beyond: values above 1 are refused, never divided by 100.
    Source: none.
    """
    allowed = "a fraction greater than 0 and at most 1, such as 0.652"
    if isinstance(text, str) and text.strip().endswith("%"):
        raise InputError(field, text, f"{allowed}; was ERH in percent meant?")
    number = read_decimal(text, field, allowed, notes, thousands_possible=False)
    if Decimal(1) < number <= Decimal(100):
        raise InputError(field, text, f"{allowed}; was ERH in percent meant (a_w {number / 100})?")
    if not Decimal(0) < number <= Decimal(1):
        raise InputError(field, text, allowed)
    return number


def read_temperature_c(
    text: object,
    field: str = "temperature_c",
    notes: list[str] | None = None,
    low: Decimal = TEMPERATURE_LOW_C,
    high: Decimal = TEMPERATURE_HIGH_C,
) -> Decimal:
    """A temperature in degrees Celsius as typed.

    text: what was typed [text], or a number already.
    field: the field's name for the error [text].
    notes: a list that collects remarks [text].
    low: the lowest temperature the field allows [degC].
    high: the highest temperature the field allows [degC].
    Returns: the temperature [degC].
    Raises: InputError; a number that reads like Fahrenheit or kelvin is answered with that question.
    Beyond: refused, never converted.
    Source: none.
    """
    allowed = f"degrees Celsius, {low} to {high}, without a unit"
    if isinstance(text, str) and _FAHRENHEIT.fullmatch(text.strip()):
        raise InputError(field, text, f"{allowed}; convert degF first: (F - 32) / 1.8")
    number = read_decimal(text, field, allowed, notes, thousands_possible=False)
    if not low <= number <= high:
        raise InputError(field, text, allowed + _other_unit(number, low, high))
    return number


def _other_unit(number: Decimal, low: Decimal, high: Decimal) -> str:
    from_fahrenheit, from_kelvin = (number - 32) / Decimal("1.8"), number - Decimal("273.15")
    asked = [
        f"{unit} meant ({converted:.1f} degC)"
        for unit, converted in (("degF", from_fahrenheit), ("kelvin", from_kelvin))
        if low <= converted <= high
    ]
    return f"; was {' or '.join(asked)}?" if asked else ""


def read_time(text: object, field: str, notes: list[str] | None = None) -> datetime:
    """A moment as typed in ISO 8601; without an offset it is read as UTC and that is noted.

    text: what was typed [text], such as 2026-11-24T06:05+01:00, or a moment already.
    field: the field's name for the error [text].
    notes: a list that collects remarks [text].
    Returns: the moment, with its offset [time].
    Raises: InputError for anything that is not ISO 8601, or a date without a time.
    Source: none.
    """
    allowed = "a time in ISO 8601 with offset, such as 2026-11-24T06:05+00:00"
    if isinstance(text, datetime):
        moment = text
    else:
        if not isinstance(text, str) or len(text.strip()) < len("2026-11-24T06:05"):
            raise InputError(field, text, allowed)
        try:
            moment = datetime.fromisoformat(text.strip())
        except ValueError as error:
            raise InputError(field, text, allowed) from error
    if moment.tzinfo is None:
        if notes is not None:
            notes.append(f"{field}: no offset given, read as UTC")
        moment = moment.replace(tzinfo=UTC)
    return moment


def read_words(text: object, field: str, most: int = 200) -> str:
    """A name or a remark: one line that can be printed, white space at its ends left out; it may be empty.

    text: what was typed [text].
    field: the field's name for the error [text].
    most: the most characters the field may hold [1].
    Returns: the words [text].
    Raises: InputError for line breaks, control characters, marks that reverse the order of reading, and length.
    Source: none.
    """
    if not isinstance(text, str):
        raise InputError(field, text, "a text")
    stripped = text.strip()
    if len(stripped) > most:
        raise InputError(field, stripped, f"at most {most} characters, not {len(stripped)}")
    for character in stripped:
        if unicodedata.category(character) in _UNPRINTABLE or character in _REVERSING:
            raise InputError(field, text, f"one line of plain text (U+{ord(character):04X} cannot be printed)")
    return stripped
