"""Masks of the bench's fields: what is kept has the digits as typed, or is refused with the reason."""

from __future__ import annotations

from isohume.bench.reading.check_file import BENCH_HIGH_C, BENCH_LOW_C
from isohume.foundation.quantity.errors import InputError
from isohume.foundation.quantity.typed import read_a_w, read_temperature_c
from isohume.outlets.site.bench.models.lots import COVERS

LONGEST_A_W, LONGEST_TEMPERATURE = 16, 12


def a_w_typed(typed: str, field: str = "a_w", notes: list[str] | None = None) -> str:
    """A water activity; 65.2 is answered with a question."""
    return _short(str(read_a_w(typed, field, notes)), field, LONGEST_A_W)


def temperature_typed(typed: str, field: str = "temperature_c", notes: list[str] | None = None) -> str:
    """A temperature of a sample as it came or tempers; blank stays blank."""
    return _short(str(read_temperature_c(typed, field, notes)), field, LONGEST_TEMPERATURE) if typed.strip() else ""


def reading_temperature_typed(typed: str, field: str, notes: list[str] | None = None) -> str:
    """A temperature at which a portion may be read; blank stays blank."""
    if not typed.strip():
        return ""
    return _short(str(read_temperature_c(typed, field, notes, BENCH_LOW_C, BENCH_HIGH_C)), field, LONGEST_TEMPERATURE)


def cover_typed(typed: str) -> str:
    """One of the three covers."""
    if typed not in COVERS:
        raise InputError("cover", typed or "nothing", " or ".join(COVERS))
    return typed


def _short(text: str, field: str, most: int) -> str:
    if len(text) > most:
        raise InputError(field, text, f"at most {most} characters")
    return text
