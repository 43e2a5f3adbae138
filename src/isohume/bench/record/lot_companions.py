"""The companion determinations a lot file may hold: moisture from weights, and pH."""

from __future__ import annotations

from decimal import Decimal

from isohume.bench.reading.companions import Buffer, Companion, Weighing, balance_check, buffer_check, moisture, ph
from isohume.bench.record.toml_section import Section
from isohume.foundation.quantity.errors import InputError
from isohume.foundation.quantity.typed import read_decimal, read_temperature_c


def read_companions(top: Section, notes: list[str]) -> tuple[Companion, ...]:
    """The companions of a lot file: tables [moisture] and [ph], each with its own check.

    top: the lot file's top table [text].
    notes: collects remarks such as a decimal comma read as a point [text].
    Returns: the Companions [text], none where the file has none.
    Raises: InputError naming the key, the value and what is allowed.
    Source: none.
    """
    found = []
    if (section := top.section("moisture")) is not None:
        found.append(_moisture(section, notes))
    if (section := top.section("ph")) is not None:
        found.append(_ph(section, notes))
    return tuple(found)


def _moisture(section: Section, notes: list[str]) -> Companion:
    check = section.required("check")
    balance = balance_check(*(_needed(check, key, notes) for key in ("nominal_g", "read_g", "limit_g")))
    check.close()
    weighings = []
    for dish in section.sections("weighings"):
        weighings.append(Weighing(*(_needed(dish, key, notes) for key in ("dish_g", "with_sample_g", "with_dry_g"))))
        dish.close()
    basis = section.choice("basis", ("wet", "dry"))
    u = section.decimal("u_wet_basis")
    if u is not None and not 0 < u < 1:
        raise InputError(section.field("u_wet_basis"), u, "a standard uncertainty in g/g, above 0 and below 1")
    found = moisture(
        weighings, "wet" if basis == "wet" else "dry", None if u is None else float(u), section.text("method"), balance
    )
    section.close()
    return found


def _ph(section: Section, notes: list[str]) -> Companion:
    check = section.required("check")
    buffers = []
    for item in check.sections("buffers"):
        buffers.append(Buffer(_needed(item, "nominal", notes), _needed(item, "read", notes)))
        item.close()
    judged = buffer_check(buffers, _needed(check, "limit", notes))
    check.close()
    values = section.raw("values")
    if not isinstance(values, list):
        raise InputError(section.field("values"), values, "a list of pH values")
    u = section.decimal("u")
    if u is not None and not 0 < u < 2:
        raise InputError(section.field("u"), u, "a standard uncertainty in pH, above 0 and below 2")
    found = ph(
        [read_decimal(value, section.field("values"), notes=notes) for value in values],
        read_temperature_c(section.raw("temperature_c"), section.field("temperature_c")),
        None if u is None else float(u),
        section.text("method"),
        judged,
    )
    section.close()
    return found


def _needed(section: Section, key: str, notes: list[str]) -> Decimal:
    value = section.decimal(key, notes)
    if value is None:
        raise InputError(section.field(key), "nothing", "a number (it is required)")
    return value
