"""Net isosteric heat straight from measured points, without any model: for isotherms that no model describes."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from isohume.foundation.metrology.straight_line import unweighted_line
from isohume.foundation.metrology.student import student_quantile
from isohume.foundation.quantity.errors import InputError
from isohume.product.sorption.net_heat import GAS_KJ_MOL_K, ZERO_C_IN_K
from isohume.product.sorption.points import Points


@dataclass(frozen=True, slots=True)
class PointHeat:
    """The net heat at one moisture between measured points; u and band from the scatter about the line."""

    moisture_db: float
    value_kj_mol: float
    u_kj_mol: float | None
    low: float | None
    high: float | None
    temperatures_c: tuple[float, ...]  # those whose points lie on both sides of the moisture


def heat_of_points(points: Points, moisture_db: float | Sequence[float], level: float = 0.95) -> tuple[PointHeat, ...]:
    """Net isosteric heat from a_w interpolated between the measured points of each temperature.

        ln a(ln X) by straight pieces at each T; q = -R times the slope of ln a on 1/T
    points: one direction, two temperatures or more [text].
    moisture_db: where the heat is asked for [kg/kg dry basis], one number or several.
    level: coverage of the band [1], above 0 and below 1.
    Returns: one PointHeat a moisture [kJ/mol]; with two temperatures there is no band.
    Raises: InputError for mixed directions or a moisture that fewer than two temperatures' points enclose.
    Beyond: points at zero a_w or moisture have no logarithm and are left out; where moisture falls with rising a_w the
        falling points are left out.
    Example: silica gel, 20 to 140 degC, 1 mmol/g: 52.8 kJ/mol with the heat of vaporisation, 9 net.
    Source: Labuza1985.
    """
    if not 0.0 < level < 1.0:
        raise InputError("level", level, "a coverage above 0 and below 1")
    if len(points.branches()) > 1:
        raise InputError("direction", "adsorption and desorption", "one direction: branches are never mixed")
    curves = {t: _rising(part) for t, part in points.temperatures().items()}
    return tuple(_at(float(x), curves, level) for x in np.atleast_1d(np.asarray(moisture_db, dtype=float)))


def _rising(part: Points) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """ln X and ln a of the points that lie higher than all drier ones."""
    order = np.lexsort((part.moisture_db, part.a_w))
    a_w, x = part.a_w[order], part.moisture_db[order]
    some = (a_w > 0.0) & (x > 0.0)
    a_w, x = a_w[some], x[some]
    higher = np.r_[np.ones(min(1, x.size), bool), np.diff(np.maximum.accumulate(x)) > 0.0]
    return np.log(x[higher]), np.log(a_w[higher])


def _at(
    moisture_db: float, curves: dict[float, tuple[NDArray[np.float64], NDArray[np.float64]]], level: float
) -> PointHeat:
    if not moisture_db > 0.0:
        raise InputError("moisture_db", moisture_db, "a moisture above zero")
    log_x = float(np.log(moisture_db))
    found = {t: float(np.interp(log_x, x, y)) for t, (x, y) in curves.items() if x.size > 1 and x[0] <= log_x <= x[-1]}
    if len(found) < 2:
        raise InputError(
            "moisture_db", moisture_db, f"a moisture that the points of two temperatures enclose ({len(found)} do)"
        )
    inverse, logs = [1.0 / (t + ZERO_C_IN_K) for t in found], list(found.values())
    if len(found) == 2:
        q = -GAS_KJ_MOL_K * (logs[1] - logs[0]) / (inverse[1] - inverse[0])
        return PointHeat(moisture_db, q, None, None, None, tuple(found))
    line = unweighted_line(inverse, logs)
    q, u = -GAS_KJ_MOL_K * line.slope, GAS_KJ_MOL_K * line.u_slope
    half = student_quantile(0.5 + 0.5 * level, line.dof) * u
    return PointHeat(moisture_db, q, u, q - half, q + half, tuple(found))
