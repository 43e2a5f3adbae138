"""Companion determinations of the site judged by the bench's own code, errors at the form's own fields."""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal
from typing import Any, TypeVar

from isohume.bench.reading.companions import (
    Buffer,
    Companion,
    CompanionCheck,
    Weighing,
    balance_check,
    buffer_check,
    moisture,
    ph,
)
from isohume.bench.record.toml_section import SMALLEST_U
from isohume.foundation.quantity.errors import InputError
from isohume.foundation.quantity.typed import read_decimal, read_temperature_c
from isohume.outlets.site.lots.models import MoistureDetermination, PhDetermination

MOST_DISHES, MOST_VALUES, MOST_BUFFERS = 6, 6, 5
WEIGHTS = ("dish_g", "with_sample_g", "with_dry_g")
BUFFER = ("nominal", "read", "temperature_c")
Found = TypeVar("Found")


def moisture_of(found: MoistureDetermination) -> Companion:
    """The moisture that a determination gives.

    Raises: InputError at the form's field: dish_g_2 is the second dish's.
    """
    numbers = {
        name: _number(getattr(found, name), name) for name in ("check_nominal_g", "check_read_g", "check_limit_g")
    }
    check = _at("check_{}", lambda: balance_check(*numbers.values()))
    if not 1 <= len(found.dishes) <= MOST_DISHES:
        raise InputError("dish_g_1", f"{len(found.dishes)} dishes", f"1 to {MOST_DISHES} dishes with their weights")
    weighings = [_weighing(dish, number) for number, dish in enumerate(found.dishes, 1)]
    if found.basis not in ("wet", "dry"):
        raise InputError("basis", found.basis or "nothing", "wet or dry; a bare percentage has no meaning")
    u = _u(found.u_wet_basis, "u_wet_basis", "g/g", Decimal(1))
    basis: Any = found.basis
    return moisture(weighings, basis, u, found.method, check)


def ph_of(found: PhDetermination) -> Companion:
    """The pH that a determination gives.

    Raises: InputError at the form's field: nominal_2 is the second buffer's.
    """
    if not 1 <= len(found.values) <= MOST_VALUES:
        raise InputError("value_1", f"{len(found.values)} values", f"1 to {MOST_VALUES} pH values")
    values = [_ph(value, f"value_{number}") for number, value in enumerate(found.values, 1)]
    check = _buffer_check(found)
    temperature = read_temperature_c(found.temperature_c, "temperature_c")
    return ph(values, temperature, _u(found.u, "u", "pH", Decimal(2)), found.method, check)


def _weighing(dish: dict[str, str], number: int) -> Weighing:
    weighing = Weighing(*(_number(dish[name], f"{name}_{number}") for name in WEIGHTS))
    _at(f"{{}}_{number}", weighing.moisture_wb)
    return weighing


def _buffer_check(found: PhDetermination) -> CompanionCheck:
    if len(found.buffers) > MOST_BUFFERS:
        raise InputError("nominal_1", f"{len(found.buffers)} buffers", f"at most {MOST_BUFFERS} buffers")
    buffers = []
    for number, typed in enumerate(found.buffers, 1):
        nominal, read = (_ph(typed[name], f"{name}_{number}") for name in ("nominal", "read"))
        at = typed.get("temperature_c", "")
        buffers.append(Buffer(nominal, read, read_temperature_c(at, f"temperature_c_{number}") if at else None))
    limit = _number(found.limit, "limit")
    return _at("{}", lambda: buffer_check(buffers, limit), {"buffers": "nominal_1"})


def _number(text: str, field: str) -> Decimal:
    if not text:
        raise InputError(field, "nothing", "a number")
    return read_decimal(text, field)


def _ph(text: str, field: str) -> Decimal:
    value = _number(text, field)
    if not 0 <= value <= 14:
        raise InputError(field, text, "a pH from 0 to 14")
    return value


def _u(text: str, field: str, unit: str, below: Decimal) -> float | None:
    """A standard uncertainty as the lot file allows it; None where it is not known."""
    if not text:
        return None
    u = read_decimal(text, field)
    if not SMALLEST_U <= u < below:
        allowed = f"a standard uncertainty in {unit}, at least {SMALLEST_U:f} and below {below}; empty where not known"
        raise InputError(field, text, allowed)
    return float(u)


def _at(pattern: str, judge: Callable[[], Found], named: dict[str, str] | None = None) -> Found:
    """What the bench says; its refusal at the form's field."""
    try:
        return judge()
    except InputError as error:
        error.field = (named or {}).get(error.field, pattern.format(error.field))
        raise error.at() from None
