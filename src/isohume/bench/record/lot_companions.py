"""The companion determinations a lot file may hold: moisture from weights, and pH."""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal
from typing import TypeVar

from isohume.bench.reading.companions import Buffer, Companion, Weighing, balance_check, buffer_check, moisture, ph
from isohume.bench.record.toml_section import SMALLEST_U, Section
from isohume.foundation.quantity.errors import InputError
from isohume.foundation.quantity.typed import read_decimal, read_temperature_c


def read_companions(top: Section) -> tuple[Companion, ...]:
    """The companions of a lot file: tables [moisture] and [ph], each with its own check.

    top: the lot file's top table [text].
    Returns: the Companions [text], none where the file has none.
    Raises: InputError naming the key, the value and what is allowed.
    Source: none.
    """
    found = []
    if (section := top.section("moisture")) is not None:
        found.append(_moisture(section))
    if (section := top.section("ph")) is not None:
        found.append(_ph(section))
    return tuple(found)


def _moisture(section: Section) -> Companion:
    check = section.required("check")
    weight = [check.needed(key) for key in ("nominal_g", "read_g", "limit_g")]
    check.close()
    balance = _judged(check, lambda: balance_check(*weight))
    basis = section.choice("basis", ("wet", "dry"))
    u, method = _standard_uncertainty(section, "u_wet_basis", "g/g", Decimal(1)), section.text("method")
    weighings = [_weighing(dish) for dish in section.sections("weighings")]
    section.close()
    return _judged(section, lambda: moisture(weighings, "wet" if basis == "wet" else "dry", u, method, balance))


def _weighing(dish: Section) -> Weighing:
    found = Weighing(*(dish.needed(key) for key in ("dish_g", "with_sample_g", "with_dry_g")))
    dish.close()
    _judged(dish, found.moisture_wb)
    return found


def _ph(section: Section) -> Companion:
    check = section.required("check")
    buffers = []
    for item in check.sections("buffers"):
        nominal, read = (_ph_value(item.needed(key), item.field(key)) for key in ("nominal", "read"))
        at = item.raw("temperature_c")
        at_c = None if at is None else read_temperature_c(at, item.field("temperature_c"), section.notes)
        buffers.append(Buffer(nominal, read, at_c))
        item.close()
    limit = check.needed("limit")
    check.close()
    judged = _judged(check, lambda: buffer_check(buffers, limit))
    listed, field = section.raw("values"), section.field("values")
    if not isinstance(listed, list):
        raise InputError(field, listed, "a list of pH values")
    values = [read_decimal(value, f"{field}[{i}]", notes=section.notes) for i, value in enumerate(listed, 1)]
    temperature_c = read_temperature_c(section.raw("temperature_c"), section.field("temperature_c"), section.notes)
    u, method = _standard_uncertainty(section, "u", "pH", Decimal(2)), section.text("method")
    section.close()
    return _judged(section, lambda: ph(values, temperature_c, u, method, judged))


def _ph_value(value: Decimal, field: str) -> Decimal:
    if not 0 <= value <= 14:
        raise InputError(field, value, "a pH from 0 to 14")
    return value


def _standard_uncertainty(section: Section, key: str, unit: str, below: Decimal) -> float | None:
    u = section.decimal(key)
    if u is not None and not SMALLEST_U <= u < below:
        allowed = f"a standard uncertainty in {unit}, at least {SMALLEST_U:f} and below {below}"
        raise InputError(section.field(key), u, allowed)
    return None if u is None else float(u)


_Found = TypeVar("_Found")


def _judged(section: Section, judge: Callable[[], _Found]) -> _Found:
    """What a judge of the bench says, its refusals with the table they speak of."""
    try:
        return judge()
    except InputError as error:
        raise section.within(error) from None
