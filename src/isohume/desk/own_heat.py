"""The net heat of a product at one reading, evaluated on its own isotherms."""

from __future__ import annotations

import math
from collections.abc import Sequence

from isohume.desk.heat_of_sorption import HeatOfSorption
from isohume.foundation.quantity.ranges import ValidRange
from isohume.product.sorption.heat import Heat, HeatRow, isosteric_heat
from isohume.product.sorption.isostere import temperature_of
from isohume.product.sorption.isotherm_fit import Fit
from isohume.product.sorption.net_heat import ZERO_C_IN_K

_ABOUT = 5e-4  # the heat is of one reading: another a_w has another moisture and asks again
_STEP = 1e-3  # share of the common moisture range over which dq/dX is taken


def own_heat(
    fits: Fit | Sequence[Fit], a_w: float, from_c: float, to_c: float, u_a_w: float, source: str
) -> HeatOfSorption:
    """See heat_from_isotherms."""
    several = (fits,) if isinstance(fits, Fit) else tuple(fits)
    joint = len(several) == 1
    between = (from_c, to_c) if joint else None
    whole = isosteric_heat(several, between_c=between)
    for field, one in (("from_c", from_c), ("to_c", to_c)):
        ValidRange(*whole.temperature_c, "degC", "the temperatures of the isotherms").check(field, one)
    moisture, slope = _moisture_of(several, a_w, from_c)
    near = _beside(moisture, whole)
    rows = isosteric_heat(several, [moisture, *near], between_c=between).rows
    by_moisture = (rows[2].value_kj_mol - rows[1].value_kj_mol) / (near[1] - near[0])
    about = max(2.0 * u_a_w, _ABOUT)
    return _of(whole, rows[0], by_moisture * slope * u_a_w, (a_w - about, a_w + about), source)


def _of(whole: Heat, row: HeatRow, u_through_moisture: float, a_w: tuple[float, float], source: str) -> HeatOfSorption:
    u = None if row.u_kj_mol is None else math.hypot(row.u_kj_mol, u_through_moisture)
    named = source or " ".join(each for each in (whole.product, whole.formula_version) if each) or "not named"
    return HeatOfSorption(
        value_kj_mol=row.value_kj_mol,
        u_kj_mol=u,
        dof=row.dof,
        temperature_c=whole.temperature_c,
        moisture_db=whole.moisture_db,
        a_w=a_w,
        source=f"isotherms of {named}; {whole.method}",
        origin="own isotherms",
        product=whole.product,
        formula_version=whole.formula_version,
        direction=whole.direction,
        remarks=(*whole.warnings, *_history(whole.direction)),
    )


def _moisture_of(fits: tuple[Fit, ...], a_w: float, from_c: float) -> tuple[float, float]:
    """Moisture and slope of the isotherm at a reading; between two temperatures from both, on 1/T."""
    if len(fits) == 1:
        return float(fits[0].moisture(a_w, from_c)), float(fits[0].slope(a_w, from_c))
    ordered = sorted(fits, key=temperature_of)
    temperatures = [temperature_of(fit) for fit in ordered]
    upper = next(i for i in range(1, len(ordered)) if from_c <= temperatures[i])
    cold, warm = 1.0 / (temperatures[upper - 1] + ZERO_C_IN_K), 1.0 / (temperatures[upper] + ZERO_C_IN_K)
    share = (1.0 / (from_c + ZERO_C_IN_K) - cold) / (warm - cold)
    sides = [(float(fit.moisture(a_w)), float(fit.slope(a_w))) for fit in ordered[upper - 1 : upper + 1]]
    moisture, slope = ((1.0 - share) * one + share * other for one, other in zip(*sides, strict=True))
    return moisture, slope


def _beside(moisture: float, whole: Heat) -> tuple[float, float]:
    """Two moistures about one, inside the common range."""
    low, high = whole.moisture_db
    step = _STEP * (high - low)
    return max(low, moisture - step), min(high, moisture + step)


def _history(direction: str) -> tuple[str, ...]:
    """What the direction of the isotherms asks of the sample."""
    if direction == "not stated":
        return ("whether the isotherms were taken up or down is not stated; hysteresis is not covered",)
    other = "dried" if direction == "adsorption" else "taken up water"
    return (f"the heat is of {direction}; a sample that has {other} since may stand on the other branch",)
