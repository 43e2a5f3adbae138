"""Net isosteric heat of sorption against moisture, with its band, from isotherms at two temperatures or more."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from isohume.foundation.metrology.student import student_quantile
from isohume.foundation.quantity.errors import InputError
from isohume.foundation.quantity.ranges import ValidRange
from isohume.foundation.water import latent_heat
from isohume.product.sorption.heat_at_moisture import Place, heat_at
from isohume.product.sorption.isostere import common_range, held, one_kind, temperature_of
from isohume.product.sorption.isotherm_fit import Fit
from isohume.product.sorption.net_heat import ZERO_C_IN_K

GRID = 15  # moistures of the heat curve where none are asked for
_STEP_C = 0.05  # the derivative by temperature is a chord this far to both sides
_NOT_STRAIGHT = 0.05  # probability of the scatter below which ln a_w on 1/T is called bent


@dataclass(frozen=True, slots=True)
class HeatRow:
    """The net heat at one moisture; no u and no band where the isotherms carry none."""

    moisture_db: float
    value_kj_mol: float
    u_kj_mol: float | None
    dof: float
    low: float | None
    high: float | None
    bend: float | None = None  # probability of so much scatter about ln a_w on 1/T, with three temperatures or more

    def as_json(self) -> dict[str, float | None]:
        """The row as the command line prints it."""
        return {
            "moisture_db": self.moisture_db,
            "value_kj_mol": self.value_kj_mol,
            "low": self.low,
            "high": self.high,
        }


@dataclass(frozen=True, slots=True)
class Heat:
    """Net isosteric heat over the moisture range common to all temperatures, and how it was found."""

    rows: tuple[HeatRow, ...]
    moisture_db: tuple[float, float]
    temperature_c: tuple[float, float]
    at_c: float  # the temperature the heat speaks of, in the middle where it comes from several
    level: float
    method: str
    warnings: tuple[str, ...] = ()
    product: str = ""
    formula_version: str = ""
    direction: str = "not stated"

    def total_kj_mol(self) -> tuple[float, ...]:
        """Net heat plus the heat of vaporisation of water at `at_c`, row by row [kJ/mol]."""
        vaporisation = float(latent_heat(self.at_c + ZERO_C_IN_K)) / 1000.0
        return tuple(row.value_kj_mol + vaporisation for row in self.rows)


def isosteric_heat(
    fits: Fit | Sequence[Fit],
    moisture_db: ArrayLike | None = None,
    *,
    at_c: float | None = None,
    between_c: tuple[float, float] | None = None,
    level: float = 0.95,
) -> Heat:
    """Net isosteric heat of sorption by Clausius and Clapeyron at constant moisture.

        q = -R d ln a/d(1/T) at constant X; several isotherms: weighted straight line of ln a on 1/T
    fits: one fit of a model with temperature, or one fit a temperature, two or more [text].
    moisture_db: where the heat is asked for [kg/kg dry basis], one number or several; 15 over the common range if left.
    at_c: temperature of the derivative [degC], for a model with temperature only; the middle of its points if left.
    between_c: two temperatures whose mean heat is asked for [degC], in place of at_c.
    level: coverage of the band [1], above 0 and below 1.
    Returns: Heat, its rows in kJ/mol; the band is Student's with the covariance of the fits.
    Raises: InputError for fewer than two temperatures, mixed directions, products or recipes; RangeError for a moisture
        or temperature beyond what every temperature's points cover.
    Beyond: nothing is drawn beyond the moisture range common to all temperatures.
    Example: modified Oswin of chickpea, 15 and 35 degC, X 0.0677 gives 6.441 kJ/mol.
    Source: Labuza1985; JCGM100, 5.1.2 and G.4.1.
    """
    several = (fits,) if isinstance(fits, Fit) else tuple(fits)
    if not 0.0 < level < 1.0:
        raise InputError("level", level, "a coverage above 0 and below 1")
    one_kind(several)
    if len(several) > 1 and (at_c is not None or between_c is not None):
        raise InputError("at_c", at_c, "nothing, with one isotherm a temperature: the heat is the mean over theirs")
    joint = len(several) == 1
    places, at, how = _places_of_one(several[0], at_c, between_c) if joint else _places_of_several(several)
    low_high = common_range(several)
    rows = tuple(_row(places, x, level) for x in _grid(moisture_db, low_high))
    points = several[0].points
    measured = [t for fit in several for t in fit.points.temperatures()]
    return Heat(
        rows=rows,
        moisture_db=low_high,
        temperature_c=(min(measured), max(measured)),
        at_c=at,
        level=level,
        method=how,
        warnings=_noticed(several, rows),
        product=points.product,
        formula_version=points.formula_version,
        direction=next(iter(points.branches())),
    )


def places_of(
    fits: Fit | Sequence[Fit], at_c: float | None = None, between_c: tuple[float, float] | None = None
) -> list[Place]:
    """The isotherms and the temperatures at which they are asked for a heat."""
    several = (fits,) if isinstance(fits, Fit) else tuple(fits)
    return (_places_of_one(several[0], at_c, between_c) if len(several) == 1 else _places_of_several(several))[0]


def _places_of_one(
    fit: Fit, at_c: float | None, between_c: tuple[float, float] | None
) -> tuple[list[Place], float, str]:
    """The two temperatures at which one model of all temperatures is asked, the one meant, and how that is called."""
    if not fit.model.needs_temperature:
        raise InputError(
            "fits", f"one isotherm, {fit.model.name}", "two temperatures or more, or a model with temperature"
        )
    given = fit.points.temperatures()
    if len(given) < 2:
        raise InputError("temperature_c", f"{len(given)} temperature", "points at two temperatures or more")
    ends = ValidRange(min(given), max(given), "degC", "the temperatures of the points")
    together = f"{fit.model.name}, all temperatures together"
    if between_c is None:
        middle = 0.5 * (ends.low + ends.high) if at_c is None else at_c
        ends.check("at_c", middle)
        sides = max(ends.low, middle - _STEP_C), min(ends.high, middle + _STEP_C)
        return [(fit, side) for side in sides], middle, f"{together}, derivative at {middle:g} degC"
    for each in between_c:
        ends.check("between_c", each)
    if between_c[0] == between_c[1]:
        raise InputError("between_c", between_c[0], "two different temperatures")
    mean = f"{together}, mean between {between_c[0]:g} and {between_c[1]:g} degC"
    return [(fit, side) for side in between_c], 0.5 * (between_c[0] + between_c[1]), mean


def _places_of_several(fits: tuple[Fit, ...]) -> tuple[list[Place], float, str]:
    """Each isotherm at its own temperature, the middle on 1/T, and how that is called."""
    if any(fit.model.needs_temperature for fit in fits):
        raise InputError(
            "fits", "a model with temperature among several", "it alone, or one plain isotherm a temperature"
        )
    temperatures = [temperature_of(fit) for fit in fits]
    if len(set(temperatures)) < len(temperatures):
        raise InputError("temperature_c", sorted(temperatures), "one isotherm a temperature")
    middle = 1.0 / float(np.mean([1.0 / (t + ZERO_C_IN_K) for t in temperatures])) - ZERO_C_IN_K
    names = " and ".join(sorted({fit.model.name for fit in fits}))
    listed = ", ".join(f"{t:g}" for t in sorted(temperatures))
    how = f"{names}, one isotherm a temperature, ln a_w on 1/T at {listed} degC"
    return list(zip(fits, temperatures, strict=True)), middle, how


def _row(places: Sequence[Place], moisture_db: float, level: float) -> HeatRow:
    found = heat_at(places, moisture_db)
    if found.u is None:
        return HeatRow(moisture_db, found.value, None, found.dof, None, None, found.bend)
    half = student_quantile(0.5 + 0.5 * level, max(1.0, found.dof)) * found.u
    return HeatRow(moisture_db, found.value, found.u, found.dof, found.value - half, found.value + half, found.bend)


def _grid(moisture_db: ArrayLike | None, low_high: tuple[float, float]) -> list[float]:
    if moisture_db is None:
        return [float(each) for each in np.linspace(*low_high, GRID)]
    asked = np.atleast_1d(np.asarray(moisture_db, dtype=float))
    ValidRange(*low_high, "kg/kg dry basis", "the moisture range common to all temperatures").check(
        "moisture_db", asked
    )
    return [float(each) for each in asked]


def _noticed(fits: tuple[Fit, ...], rows: Sequence[HeatRow]) -> tuple[str, ...]:
    found = []
    if any(row.u_kj_mol is None for row in rows):
        found.append(
            "no uncertainty: an isotherm has no more points than parameters, and two temperatures leave no rest"
        )
    stuck = sorted({name for fit in fits for name in held(fit)})
    if stuck:
        found.append(f"the band takes {', '.join(stuck)} as exact: at the end of its range, or not determined")
    bent = [row.moisture_db for row in rows if row.bend is not None and row.bend < _NOT_STRAIGHT]
    if bent:
        found.append(
            f"ln a_w on 1/T is not straight within the isotherms' uncertainty at {len(bent)} of {len(rows)} moistures: "
            "the band was widened; the heat changes with temperature, or one isotherm is off"
        )
    if any(row.value_kj_mol < 0.0 for row in rows):
        found.append(
            "negative net heat: a_w falls with temperature at that moisture; unusual unless something dissolves"
        )
    return tuple(found)
