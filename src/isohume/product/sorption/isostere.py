"""One moisture followed over temperature: where the isotherms may be asked, and what they answer with which u."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from isohume.foundation.quantity.errors import InputError
from isohume.product.sorption.isotherm_fit import Fit
from isohume.product.sorption.net_heat import ZERO_C_IN_K

_ALIKE_K = 1.0  # set temperatures this close are one isotherm
_INSIDE = 1e-9  # share of the common range by which its ends are drawn in, for rounding


@dataclass(frozen=True, slots=True)
class Isostere:
    """The a_w of one moisture on one isotherm: its logarithm, and how the parameters move that."""

    temperature_k: float
    log_a_w: float
    gradient: NDArray[np.float64]


def isostere(fit: Fit, moisture_db: float, temperature_c: float) -> Isostere:
    """ln a of a moisture on a fit, and d ln a/dp = -(dX/dp)/(a dX/da)."""
    given = temperature_c if fit.model.needs_temperature else None
    a_w = float(fit.water_activity(moisture_db, given))
    rows = fit.curve(a_w, given)[:, 0]
    if not (math.isfinite(a_w) and rows[1] > 0.0):
        raise InputError("moisture_db", moisture_db, f"a moisture where the {fit.model.name} curve rises with a_w")
    return Isostere(temperature_c + ZERO_C_IN_K, math.log(a_w), -rows[2:] / (a_w * rows[1]))


def known_covariance(fit: Fit) -> NDArray[np.float64] | None:
    """The covariance with parameters held at a bound as exact; None where nothing is known of any parameter."""
    if fit.dof < 1 or not np.isfinite(np.diag(fit.covariance)).any():
        return None
    return np.where(np.isfinite(fit.covariance), fit.covariance, 0.0)


def held(fit: Fit) -> tuple[str, ...]:
    """The parameters that stand at the end of their range, or that the points do not determine."""
    return tuple(name for name, u in fit.u.items() if not u)


def temperature_of(fit: Fit) -> float:
    """The one temperature of an isotherm's points [degC]."""
    given = fit.points.temperature_c
    if given is None:
        raise InputError("temperature_c", None, "the temperature of every isotherm; a heat comes from their difference")
    if float(np.ptp(given)) > _ALIKE_K:
        raise InputError(
            "temperature_c",
            f"{given.min():g} to {given.max():g}",
            f"points of one temperature an isotherm (within {_ALIKE_K:g} K); several go to one model with temperature",
        )
    return float(given.mean())


def one_kind(fits: Sequence[Fit]) -> None:
    """Refuses isotherms that speak of different things: another product, recipe or direction."""
    for field, kinds in (
        ("product", {fit.points.product for fit in fits}),
        ("formula_version", {fit.points.formula_version for fit in fits}),
        ("direction", {tuple(fit.points.branches()) for fit in fits}),
    ):
        if len(kinds) > 1:
            shown = sorted(each if isinstance(each, str) else " and ".join(each) for each in kinds)
            raise InputError(field, " / ".join(shown), f"isotherms of one {field.replace('_', ' ')}")
    if any(len(fit.points.branches()) > 1 for fit in fits):
        raise InputError(
            "direction", "adsorption and desorption", "one direction; hysteresis is no effect of temperature"
        )


def common_range(fits: Sequence[Fit]) -> tuple[float, float]:
    """The moisture range that every temperature's points cover [kg/kg dry basis]."""
    ends = [_covered(fit, *window) for fit in fits for window in _windows(fit)]
    if not ends:
        raise InputError("temperature_c", "one point a temperature", "two points or more at each temperature")
    low, high = max(low for low, _ in ends), min(high for _, high in ends)
    if not low < high:
        raise InputError(
            "moisture_db",
            f"{low:.4g} at one temperature, {high:.4g} at another",
            "isotherms that share a range of moisture; measure the warmer one to higher a_w",
        )
    inset = _INSIDE * (high - low)
    return low + inset, high - inset


def _covered(fit: Fit, low: float, high: float, temperature_c: float | None) -> tuple[float, float]:
    ends = fit.moisture(np.array([low, high]), temperature_c)
    return float(ends[0]), float(ends[1])


def _windows(fit: Fit) -> list[tuple[float, float, float | None]]:
    """The a_w range at each temperature of a fit's points; zero a_w has no logarithm and is left out."""
    a_w = fit.points.a_w
    if not fit.model.needs_temperature:
        return [(float(a_w[a_w > 0.0].min()), float(a_w.max()), None)]
    found: list[tuple[float, float, float | None]] = []
    for temperature, part in _groups(fit.points.temperature_k - ZERO_C_IN_K):
        here = a_w[part]
        here = here[here > 0.0]
        if here.size > 1:
            found.append((float(here.min()), float(here.max()), temperature))
    return found


def _groups(temperature_c: NDArray[np.float64]) -> list[tuple[float, NDArray[np.bool_]]]:
    """The points of one set temperature: its mean, and which they are."""
    starts: list[float] = []
    for each in np.unique(temperature_c):
        if not starts or each - starts[-1] > _ALIKE_K:
            starts.append(float(each))
    parts = [(temperature_c >= one) & (temperature_c <= one + _ALIKE_K) for one in starts]
    return [(float(temperature_c[part].mean()), part) for part in parts]
