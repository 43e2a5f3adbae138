"""Numbers of a line, as text: decimals exactly as the instrument wrote them, or the reason why they are not taken."""

from __future__ import annotations

import re
from decimal import Decimal

from isohume.foundation.quantity.typed import TEMPERATURE_HIGH_C, TEMPERATURE_LOW_C

NUMBER = re.compile(r"[+-]?\d{1,7}([.,]\d{1,5})?", re.ASCII)
CLOCK = re.compile(r"(?:(\d{1,3}):)?(\d{1,4}):(\d{2}(?:[.,]\d{1,6})?)", re.ASCII)
LONGEST = 12  # characters; no instrument of the trade shows more
LONGEST_S = Decimal(14 * 24 * 3600)
HIGHEST = Decimal("1.05")  # what an instrument shows on the way: over a wet sample a little more than 1


class NotTakenError(Exception):
    """A part of a line that the rule found but that cannot be what the rule says; the text says why."""


def decimal_text(text: str, name: str, mark: str) -> str:
    """A number with a decimal point, digits as written; `mark` is the decimal mark that the rule names."""
    written = text.strip()
    other = "." if mark == "," else ","
    if other in written:
        raise NotTakenError(f'{name}: {written!r} has a "{other}", the rule says decimal = "{mark}"')
    if not NUMBER.fullmatch(written) or len(written) > LONGEST:
        raise NotTakenError(f"{name}: {written!r} is not a number of at most {LONGEST} characters")
    return written.replace(",", ".").removeprefix("+")


def fraction_text(text: str, name: str, mark: str, percent: bool) -> str:
    """A fraction, 0 to 1.05; a percentage is divided only where the rule says that it is one."""
    written = decimal_text(text, name, mark)
    number = Decimal(written)
    if percent:
        if number and abs(number) <= HIGHEST:
            raise NotTakenError(f"{name}: {written} is a fraction, the rule says percent")
        number = number.scaleb(-2)
    if number > HIGHEST:
        why = "more than 105 %" if percent else "more than 1: percent? The rule does not say so"
        raise NotTakenError(f"{name}: {written} is {why}")
    if number < 0:
        raise NotTakenError(f"{name}: {written} is below 0")
    return f"{number:f}"


def temperature_text(text: str, name: str, mark: str) -> str:
    """A temperature in degrees Celsius."""
    written = decimal_text(text, name, mark)
    if not TEMPERATURE_LOW_C <= Decimal(written) <= TEMPERATURE_HIGH_C:
        raise NotTakenError(f"{name}: {written} is not within {TEMPERATURE_LOW_C} to {TEMPERATURE_HIGH_C} degC")
    return written


def elapsed_text(text: str, name: str, mark: str) -> str:
    """Seconds since the run began, from seconds, m:ss or h:mm:ss."""
    written = text.strip()
    clock = CLOCK.fullmatch(written)
    if clock is None:
        seconds = decimal_text(written, name, mark)
    else:
        hours, minutes, rest = clock.groups()
        rest = decimal_text(rest, name, mark)
        if Decimal(rest) >= 60 or (hours is not None and int(minutes) >= 60):
            raise NotTakenError(f"{name}: {written!r} is no time")
        seconds = f"{int(hours or 0) * 3600 + int(minutes) * 60 + Decimal(rest):f}"
    if not 0 <= Decimal(seconds) <= LONGEST_S:
        raise NotTakenError(f"{name}: {written} is not within 0 to {LONGEST_S} s")
    return seconds


def words_text(text: str, name: str, most: int) -> str:
    """Words of one line."""
    written = " ".join(text.split())
    if len(written) > most or not written.isprintable():
        raise NotTakenError(f"{name}: {written[:20]!r}... is longer than {most} characters, or cannot be printed")
    return written
