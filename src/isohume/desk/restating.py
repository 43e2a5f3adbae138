"""A reading restated at the specification's temperature, by the product's own heat of sorption; never by a guess."""

from __future__ import annotations

import math
from dataclasses import dataclass

from isohume.desk.heat_of_sorption import HeatOfSorption
from isohume.foundation.quantity.errors import InputError, RangeError
from isohume.foundation.quantity.how import How
from isohume.foundation.quantity.measured import Measured
from isohume.product.sorption.net_heat import TEMPERATURE_C, shifted_a_w, shifted_measured

_USUAL_KJ_MOL = (0.0, 10.0)  # what foods usually show; it sizes a refusal and never enters a result
_SAME_C = 0.05  # below it the temperatures are one and nothing is restated

CAUTION = (
    "A restated value supports, and does not replace, a reading at the specification's temperature; "
    "keep the reading as measured beside it."
)
SALTS = (
    "A saturated salt solution is not restated by a heat: most fall with temperature where foods rise. "
    "Take its value at the temperature of the check from the reference tables."
)


@dataclass(frozen=True, slots=True)
class BenchReading:
    """What the bench hands over: the value with its u, the temperature it was read at, what is known of the sample."""

    a_w: float
    u: float | None
    temperature_c: float
    u_temperature_c: float = 0.0
    dof: float = math.inf
    moisture_db: float | None = None
    product: str = ""
    formula_version: str = ""
    is_reference_solution: bool = False


@dataclass(frozen=True, slots=True)
class Restated:
    """The value at the specification's temperature, or None with the reasons; the reading stays as it was."""

    reading: BenchReading
    temperature_c: float
    value: float | None
    u: float | None
    dof: float
    shares: dict[str, float]  # what each input adds to u, as a standard uncertainty
    how: How | None
    reasons: tuple[str, ...]

    @property
    def refused(self) -> bool:
        """Whether there is no restated value."""
        return self.value is None


def restate(reading: BenchReading, to_c: float, heat: HeatOfSorption | None = None) -> Restated:
    """A reading restated at another temperature, at constant moisture, or the reasons why not.

        ln(a2/a1) = (q/R)(1/T1 - 1/T2); u from the reading, its temperature and q
    reading: the reading as measured, with its u and temperature [text].
    to_c: temperature of the specification [degC], -60 to 250.
    heat: net heat of sorption with its u, ranges and source [kJ/mol]; there is no default.
    Returns: Restated [1]; value None with reasons where the heat, an uncertainty or a range is missing.
    Raises: InputError for a reading that is no fraction above 0, an uncertainty that is none, or no finite temperature.
    Beyond: outside the moisture and temperature range of the heat nothing is restated; nothing is clamped.
    Example: 0.850 at 25 degC with q 3 kJ/mol = 0.833 at 20 degC and 0.867 at 30 degC; without q no number.
    Source: Labuza1985; JCGM100, 5.1.2.
    """
    _check(reading)
    TEMPERATURE_C.check("to_c", to_c)
    if reading.is_reference_solution:
        return _refused(reading, to_c, (SALTS,))
    if abs(to_c - reading.temperature_c) < _SAME_C:
        same = f"read at {reading.temperature_c:g} degC, the temperature asked for: nothing to restate"
        return Restated(reading, to_c, reading.a_w, reading.u, reading.dof, {}, None, (same,))
    if heat is None:
        return _refused(reading, to_c, (_no_heat(reading, to_c),))
    against = (*heat.against(reading.product, reading.formula_version), *_outside(reading, to_c, heat))
    if not reading.u:
        against += ("the reading has no uncertainty: what is restated without one decides nothing",)
    if against:
        return _refused(reading, to_c, against)
    return _restated(reading, to_c, heat)


def _restated(reading: BenchReading, to_c: float, heat: HeatOfSorption) -> Restated:
    u, u_heat = float(reading.u or 0.0), float(heat.u_kj_mol or 0.0)  # both were asked for above
    a_w = Measured(reading.a_w, u, reading.dof, "reading")
    q = Measured(heat.value_kj_mol, u_heat, heat.dof, "heat of sorption")
    read_at = Measured(reading.temperature_c, reading.u_temperature_c, name="temperature of the reading")
    try:
        result = shifted_measured(a_w, q, read_at, to_c)
    except RangeError as beyond:
        return _refused(reading, to_c, (f"the restated value would not be a water activity: {beyond}",))
    shares = {influence.name: abs(movement) for influence, movement in result.movements.items()}
    reasons = (f"restated from {reading.temperature_c:g} to {to_c:g} degC with {heat}", *heat.remarks, CAUTION)
    return Restated(
        reading, to_c, result.value, result.u, result.dof, shares, _how(reading, to_c, heat, shares), reasons
    )


def _how(reading: BenchReading, to_c: float, heat: HeatOfSorption, shares: dict[str, float]) -> How:
    return How(
        figure="a_w at the specification's temperature",
        formula="a2 = a1 exp((q/R)(1/T1 - 1/T2)), moisture unchanged",
        source=heat.source,
        valid=heat.valid,
        depends_most_on=max(shares, key=lambda name: shares[name]) if shares else "the reading",
        inputs={
            "a1": reading.a_w,
            "u(a1)": reading.u,
            "temperature of the reading": reading.temperature_c,
            "u(temperature)": reading.u_temperature_c,
            "temperature of the specification": to_c,
            "q in kJ/mol": heat.value_kj_mol,
            "u(q) in kJ/mol": heat.u_kj_mol,
        },
    )


def _outside(reading: BenchReading, to_c: float, heat: HeatOfSorption) -> tuple[str, ...]:
    """Why the heat does not speak of this reading."""
    found = []
    low, high = heat.temperature_c
    for what, one in (("the reading", reading.temperature_c), ("the specification", to_c)):
        if not low <= one <= high:
            found.append(f"{one:g} degC of {what} lies outside {low:g} to {high:g} degC, where the heat was found")
    if heat.a_w is not None and not heat.a_w[0] <= reading.a_w <= heat.a_w[1]:
        found.append(f"a_w {reading.a_w:g} lies outside {heat.a_w[0]:g} to {heat.a_w[1]:g}, where the heat was found")
    if heat.moisture_db is not None and reading.moisture_db is not None:
        low, high = heat.moisture_db
        if not low <= reading.moisture_db <= high:
            found.append(
                f"moisture {reading.moisture_db:g} (dry basis) lies outside {low:g} to {high:g}, "
                "where the heat was found"
            )
    if heat.a_w is None and (heat.moisture_db is None or reading.moisture_db is None):
        found.append(
            "whether the heat holds for this sample cannot be told: give the sample's moisture on dry basis, "
            "or the a_w range the heat was found in"
        )
    return tuple(found)


def _no_heat(reading: BenchReading, to_c: float) -> str:
    """The refusal without a heat, with the size of what a guess could do."""
    try:
        ends = sorted(shifted_a_w(reading.a_w, q, reading.temperature_c, to_c) for q in _USUAL_KJ_MOL)
        size = f"{ends[0]:.3f} to {ends[1]:.3f}"
    except RangeError:
        size = f"{reading.a_w:.3f} to beyond 1"
    return (
        "no heat of sorption of this product: there is no default. "
        f"Foods of 0 to 10 kJ/mol would stand anywhere from {size} at {to_c:g} degC. "
        f"Read it at {to_c:g} degC, or measure its isotherm at two temperatures"
    )


def _refused(reading: BenchReading, to_c: float, reasons: tuple[str, ...]) -> Restated:
    return Restated(reading, to_c, None, None, math.inf, {}, None, reasons)


def _check(reading: BenchReading) -> None:
    if not 0.0 < reading.a_w <= 1.0:
        raise InputError("a_w", reading.a_w, "a fraction above 0 and up to 1 (65.2 % is 0.652)")
    for field, one in (("u", reading.u), ("u_temperature_c", reading.u_temperature_c)):
        if one is not None and not 0.0 <= one < math.inf:
            raise InputError(field, one, "a finite standard uncertainty of zero or more")
    TEMPERATURE_C.check("temperature_c", reading.temperature_c)
