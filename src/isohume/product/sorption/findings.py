"""What a fit makes one notice: parameters at an end, a pole, points left out, a curve that falls, scatter beyond u."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from isohume.product.sorption.catalogue import place_of
from isohume.product.sorption.evaluation import curve_of

if TYPE_CHECKING:
    from isohume.product.sorption.isotherm_fit import Fit

_CLOSE_TO_ONE = 0.999
_LOOSE = 0.5  # a relative standard uncertainty above which a parameter says little


def notices(fit: Fit) -> tuple[str, ...]:
    """All that a user must know before the numbers of this fit are used, most important first."""
    return (*_mixed(fit), *_ends(fit), *_pole(fit), *_falls(fit), *_few(fit), *_scatter(fit), *_loose(fit))


def _mixed(fit: Fit) -> tuple[str, ...]:
    said = []
    if len(fit.points.branches()) > 1:
        said.append("fitted to adsorption and desorption together: these are two curves")
    several = fit.points.temperature_c
    if several is not None and not fit.model.needs_temperature and np.ptp(several) > 1.0:
        low, high = several.min(), several.max()
        said.append(f"fitted to points of {low:g} to {high:g} degC together, without temperature in it")
    return tuple(said)


def _ends(fit: Fit) -> tuple[str, ...]:
    names = fit.held
    if not names:
        return ()
    where = ", ".join(f"{name} = {fit.parameters[name]:.6g}" for name in names)
    said = f"optimum at the end of the range of the search, which holds the admissible one: {where}"
    if any(_is_admissible_end(fit, name) for name in names):
        said = f"optimum at the end of the admissible range: {where}"
    if fit.unconstrained is not None:
        free = ", ".join(f"{name} = {value:.6g}" for name, value in fit.unconstrained.items())
        said += f"; without the range it would be {free}"
    return (said,)


def _is_admissible_end(fit: Fit, name: str) -> bool:
    parameter = fit.model.parameters[fit.model.names.index(name)]
    return min(abs(fit.parameters[name] - parameter.low), abs(fit.parameters[name] - parameter.high)) < 1e-6


def _pole(fit: Fit) -> tuple[str, ...]:
    if "k" not in fit.parameters or fit.model.key != "gab":
        return ()
    free = (fit.unconstrained or {}).get("k", 0.0)
    if free > 1.0:
        return (f"without the admissible range GAB has a pole at a_w {1.0 / free:.4f}: it is not drawn through",)
    if fit.parameters["k"] > _CLOSE_TO_ONE:
        return (f"k = {fit.parameters['k']:.4f} is close to its end at 1: moisture near a_w 1 is not determined",)
    return ()


def _falls(fit: Fit) -> tuple[str, ...]:
    a = np.linspace(*fit.valid_a_w, 200)
    for kelvin in np.unique(fit.points.temperature_k):
        moisture, slope = curve_of(place_of(fit.model.key), a, np.array([kelvin]), fit.values)[:2]
        if not np.isfinite(moisture).all():
            return ("the curve is not finite in the range of the points",)
        if (slope[1:-1] < 0.0).any():
            return (f"the curve falls at a_w {a[int(np.argmin(slope))]:.3f}: no isotherm of sorption does",)
    return ()


def _few(fit: Fit) -> tuple[str, ...]:
    said = []
    if fit.left_out:
        low, high = fit.model.valid_a_w
        said.append(
            f"fitted to {fit.n} points in its range a_w {low:g} to {high:g}; {fit.left_out} left out,"
            " so it is not weighed against the others"
        )
    if fit.dof <= 0:
        said.append(f"{fit.n} points for {len(fit.values)} parameters: no uncertainty can be given")
    return tuple(said)


def _scatter(fit: Fit) -> tuple[str, ...]:
    if fit.weighted and fit.dof > 0 and fit.chi_square / fit.dof > 2.0:
        return (
            f"points scatter {np.sqrt(fit.chi_square / fit.dof):.1f} times their stated uncertainty; u is widened so",
        )
    return ()


def _loose(fit: Fit) -> tuple[str, ...]:
    loose = [
        name
        for name, u in fit.u.items()
        if u is not None and fit.parameters[name] != 0.0 and u > _LOOSE * abs(fit.parameters[name])
    ]
    return (f"hardly determined by these points: {', '.join(loose)}",) if loose else ()
