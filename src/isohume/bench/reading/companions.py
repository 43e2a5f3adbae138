"""Companion determinations on the same lot: moisture from weights and pH, each believed only with its own check."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Literal

from isohume.foundation.quantity.errors import InputError
from isohume.foundation.quantity.moisture import dry_from_wet
from isohume.foundation.quantity.rounding import round_together

Basis = Literal["wet", "dry"]


@dataclass(frozen=True, slots=True)
class CompanionCheck:
    """The companion's own check: passed or not, and in words what was compared."""

    passed: bool
    text: str

    def as_json(self) -> dict[str, object]:
        """The check as the record keeps it."""
        return {"verdict": "pass" if self.passed else "fail", "text": self.text}


@dataclass(frozen=True, slots=True)
class Companion:
    """One companion determination; value None where its check failed."""

    quantity: str
    basis: str | None
    value: float | None
    u: float | None
    unit: str
    text: str
    method: str
    check: CompanionCheck
    reasons: tuple[str, ...]

    def as_json(self) -> dict[str, object]:
        """The determination as the record keeps it."""
        return {
            "quantity": self.quantity,
            "basis": self.basis,
            "value": self.value,
            "u": self.u,
            "unit": self.unit,
            "text": self.text,
            "method": self.method,
            "check": self.check.as_json(),
            "reasons": list(self.reasons),
        }


@dataclass(frozen=True, slots=True)
class Weighing:
    """One dish: empty, with the portion, and with the dried portion, in grams as typed."""

    dish_g: Decimal
    with_sample_g: Decimal
    with_dry_g: Decimal

    def moisture_wb(self) -> Decimal:
        """Moisture on wet basis, g/g; refused where the weights contradict each other."""
        if not self.dish_g >= 0:
            raise InputError("dish_g", self.dish_g, "grams, zero or more")
        if not self.with_sample_g > self.dish_g:
            raise InputError("with_sample_g", self.with_sample_g, f"more than the dish ({self.dish_g} g)")
        if not self.dish_g < self.with_dry_g <= self.with_sample_g:
            raise InputError(
                "with_dry_g", self.with_dry_g, f"above the dish ({self.dish_g} g), at most {self.with_sample_g} g"
            )
        return (self.with_sample_g - self.with_dry_g) / (self.with_sample_g - self.dish_g)


def balance_check(nominal_g: Decimal, read_g: Decimal, limit_g: Decimal) -> CompanionCheck:
    """Whether the balance reads a check weight within the laboratory's limit.

    nominal_g: mass of the check weight [g], greater than zero.
    read_g: what the balance read [g].
    limit_g: the laboratory's limit [g], greater than zero.
    Returns: the CompanionCheck [text].
    Raises: InputError for a weight or limit that is not positive.
    Source: none (the limit is the laboratory's own).
    """
    if not nominal_g > 0:
        raise InputError("nominal_g", nominal_g, "grams, greater than zero")
    if not limit_g > 0:
        raise InputError("limit_g", limit_g, "grams, greater than zero")
    passed = abs(read_g - nominal_g) <= limit_g
    within = "within" if passed else "beyond"
    return CompanionCheck(passed, f"Balance: check weight {nominal_g} g read {read_g} g, {within} {limit_g} g.")


def moisture(
    weighings: Sequence[Weighing], basis: Basis, u_moisture_wb: float | None, method: str, check: CompanionCheck
) -> Companion:
    """Moisture from weights, on the basis asked for, with the other basis beside it.

        w = (m_sample - m_dry) / (m_sample - m_dish);  X = w / (1 - w);  u(X) = u(w) / (1 - w)^2
    weighings: one a portion [g], at least one.
    basis: "wet" or "dry" [text]; never left out.
    u_moisture_wb: standard uncertainty on wet basis [g/g]; None where not known.
    method: drying method [text].
    check: the balance's own check [text].
    Returns: the Companion [g/g]; value None where the check failed.
    Raises: InputError for weights that contradict each other, RangeError for a portion without solids.
    Source: none (definition of moisture content).
    """
    if basis not in ("wet", "dry"):
        raise InputError("basis", basis, "wet or dry; a bare percentage has no meaning")
    if not weighings:
        raise InputError("weighings", "none", "at least one dish")
    wet = float(sum(w.moisture_wb() for w in weighings) / len(weighings))
    dry = float(dry_from_wet(wet))
    u_dry = None if u_moisture_wb is None else u_moisture_wb / (1 - wet) ** 2
    value, u = (wet, u_moisture_wb) if basis == "wet" else (dry, u_dry)
    if not check.passed:
        text = "Moisture is not stated: the balance check failed."
        return Companion("moisture", f"{basis} basis", None, None, "g/g", text, method, check, (check.text,))
    text = (
        f"{_percent(wet, u_moisture_wb)} g per 100 g of product (wet basis); "
        f"{_percent(dry, u_dry)} g per 100 g of solids (dry basis); n = {len(weighings)}"
    )
    reasons = () if u is not None else ("The uncertainty of the moisture is not known.",)
    return Companion("moisture", f"{basis} basis", value, u, "g/g", text, method, check, reasons)


def _percent(value: float, u: float | None) -> str:
    shown, shown_u = round_together(100 * value, None if u is None else 100 * u, 2)
    return f"{shown} (u {shown_u})" if shown_u else shown


@dataclass(frozen=True, slots=True)
class Buffer:
    """A pH buffer: its value at its temperature and what the meter read."""

    nominal: Decimal
    read: Decimal
    temperature_c: Decimal | None = None

    def __str__(self) -> str:
        at = "" if self.temperature_c is None else f" at {self.temperature_c} degC"
        return f"{self.nominal} read {self.read}{at}"


def buffer_check(buffers: Sequence[Buffer], limit: Decimal) -> CompanionCheck:
    """Whether the pH meter reads at least two buffers within the laboratory's limit.

    buffers: at least two different buffers [1].
    limit: the laboratory's limit [1], greater than zero.
    Returns: the CompanionCheck [text].
    Raises: InputError for fewer than two buffers or a limit that is not positive.
    Source: none (the limit is the laboratory's own).
    """
    if len({buffer.nominal for buffer in buffers}) < 2:
        raise InputError("buffers", len(buffers), "at least two buffers of different pH")
    if not limit > 0:
        raise InputError("limit", limit, "a pH difference greater than zero")
    passed = all(abs(buffer.read - buffer.nominal) <= limit for buffer in buffers)
    read = ", ".join(map(str, buffers))
    return CompanionCheck(passed, f"Buffers: {read}, {'within' if passed else 'beyond'} {limit}.")


def ph(
    readings: Sequence[Decimal], temperature_c: Decimal, u: float | None, method: str, check: CompanionCheck
) -> Companion:
    """The pH of a lot from its readings.

    readings: pH values [1], 0 to 14, at least one.
    temperature_c: temperature of the sample [degC].
    u: standard uncertainty [1]; None where not known.
    method: electrode and preparation [text].
    check: the meter's own check on buffers [text].
    Returns: the Companion [1]; value None where the check failed.
    Raises: InputError for a pH outside 0 to 14 or no reading.
    Source: none (mean of readings).
    """
    if not readings:
        raise InputError("ph.values", "none", "at least one pH value")
    for reading in readings:
        if not 0 <= reading <= 14:
            raise InputError("ph.values", reading, "a pH from 0 to 14")
    if not check.passed:
        text = "pH is not stated: the check on buffers failed."
        return Companion("pH", None, None, None, "1", text, method, check, (check.text,))
    value = math.fsum(float(r) for r in readings) / len(readings)
    shown, shown_u = round_together(value, u, 2)
    text = f"pH {shown}{f' (u {shown_u})' if shown_u else ''} at {temperature_c} degC; n = {len(readings)}"
    reasons = () if u is not None else ("The uncertainty of the pH is not known.",)
    return Companion("pH", None, value, u, "1", text, method, check, reasons)
