"""Which model of a panel to use, and why; none where no model describes the points."""

from __future__ import annotations

import math
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from isohume.product.sorption.catalogue import place_of
from isohume.product.sorption.evaluation import curve_of
from isohume.product.sorption.isotherm_fit import Fit
from isohume.product.sorption.panel import Panel
from isohume.product.sorption.points import Points
from isohume.product.sorption.residual_pattern import Pattern, pattern_of, scatter_of
from isohume.product.sorption.shape import Shape, relative_percent, shape_of, sharpest_bend

FEWEST_POINTS = 5
FEWEST_DOF = 2
MOST_DEVIATION_PERCENT = 10.0  # the usual limit of a usable isotherm, without a source
MOST_SHARE_PERCENT = 12.0  # standard error as a share of the range of moisture, where there are points enough to tell
_ENOUGH = 8
USUAL_MONOLAYER = (0.005, 0.25)  # kg/kg; foods lie at 0.03 to 0.12, pure polymers and porous solids higher
_STIFF = 3.0  # the best model misses the points so many times their own scatter,
_STIFF_SHARE = 0.04  # and by so much of the range of moisture,
_STIFF_SHARE_CLEAR = 0.03  # or by so much with a clear pattern of residuals: it has the wrong form
_NEARLY = 2.0  # difference of AICc below which two models can hardly be told apart
_EXACT = 1e-7  # residuals this small beside the moisture are rounding: they have no pattern
_STEADY = 200
_Array = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Choice:
    """The model to use, by its printed name, or None; the reasons, each one sentence."""

    recommended: str | None
    reasons: tuple[str, ...]
    faults: dict[str, tuple[str, ...]] = field(default_factory=dict)  # by model key: what rules it out
    patterns: dict[str, Pattern] = field(default_factory=dict)  # by model key
    deviation_percent: dict[str, float] = field(default_factory=dict)  # by model key, over the points with moisture
    shape: Shape | None = None
    cautions: tuple[str, ...] = ()  # about the recommended model


def choose(panel: Panel) -> Choice:
    """The model to use for these points with the reasons, or none with the reasons.

        least AICc among the models without a fault; no model for a step, for falling points, for two branches at once
    panel: the models fitted to the points [1].
    Returns: Choice; `recommended` is the name of a model, or None.
    Raises: nothing of its own.
    Beyond: fewer than 5 points, or 2 degrees of freedom, recommend nothing.
    Example: the pasta of the reference table at 40 degC, 11 points, recommends GAB.
    Source: BurnhamAnderson2002; WaldWolfowitz1940.
    """
    shape = _shape(panel.given)
    patterns = {fit.model.key: _pattern(fit) for fit in panel.fits}
    deviations = {fit.model.key: _deviation(fit) for fit in panel.fits}
    faults = {fit.model.key: _faults(fit, deviations[fit.model.key]) for fit in panel.fits}
    none = Choice(None, (), faults, patterns, deviations, shape)
    against = _against_all(panel, shape)
    ranked = sorted((fit for fit in panel.fits if not math.isnan(fit.aicc)), key=lambda fit: fit.aicc)
    usable = [fit for fit in ranked if not faults[fit.model.key]]
    if against:
        return replace(none, reasons=against)
    if not usable:
        return replace(none, reasons=_all_faulty(panel, faults))
    best = usable[0]
    stiff = _stiff(best, patterns[best.model.key], panel.points)
    if stiff:
        return replace(none, reasons=stiff)
    reasons = _reasons(panel, best, ranked, usable, none)
    return replace(none, recommended=best.model.name, reasons=reasons, cautions=_cautions(panel, best, patterns))


def _shape(points: Points) -> Shape:
    """The shape that stands most against a model, temperature by temperature."""
    parts = list(points.temperatures().values()) or [points]
    shapes = [shape_of(part.a_w, part.moisture_db) for part in parts]
    return next((shape for shape in shapes if shape.kind != "plain"), shapes[0])


def _against_all(panel: Panel, shape: Shape) -> tuple[str, ...]:
    """What rules out every model."""
    points = panel.given
    branches = points.branches()
    if len(branches) > 1:
        return ("adsorption and desorption are two curves: choose the points of one direction",)
    if points.count < FEWEST_POINTS:
        return (f"too few points: {points.count}, a choice among models wants {FEWEST_POINTS} or more",)
    levels = int(np.unique(points.a_w).size)
    if levels < FEWEST_POINTS:
        return (f"points at {levels} different a_w only: the form of a curve wants {FEWEST_POINTS} or more",)
    if not np.ptp(points.moisture_db) > 0.0:
        return ("all moistures are equal: there is no isotherm in them",)
    if shape.kind == "step":
        return (f"{shape.words}; no model of the panel has such a step", _lowest_deviation(panel))
    if shape.kind == "two branches":
        way_up = shape_of(*(each[: int(np.argmax(points.a_w)) + 1] for each in (points.a_w, points.moisture_db)))
        return (shape.words, f"on the way up {way_up.words}") if way_up.kind == "step" else (shape.words,)
    if shape.kind == "not rising":
        return (shape.words,)
    return ()


def _lowest_deviation(panel: Panel) -> str:
    whole = [fit for fit in panel.fits if not fit.left_out and math.isfinite(fit.standard_error)]
    if not whole:
        return "no model could be judged on all points"
    best = min(whole, key=lambda fit: fit.standard_error)
    share = best.standard_error / float(np.ptp(panel.points.moisture_db))
    return f"the closest, {best.model.name}, misses the points by {100.0 * share:.1f} % of the range of moisture"


def _faults(fit: Fit, deviation: float) -> tuple[str, ...]:
    """What rules out one model, most important first."""
    found = []
    if fit.left_out:
        low, high = fit.model.valid_a_w
        found.append(f"speaks of a_w {low:g} to {high:g} only, {fit.left_out} points lie beyond")
    if fit.dof < FEWEST_DOF or math.isnan(fit.aicc):
        found.append(f"{fit.n} points are too few for its {len(fit.values)} parameters")
    elif np.unique(fit.points.a_w).size <= len(fit.values):
        found.append(f"its {len(fit.values)} parameters want points at more different a_w")
    found += _curve_faults(fit)
    ends = fit.held
    if ends:
        where = ", ".join(f"{name} = {fit.parameters[name]:.3g}" for name in ends)
        found.append(f"its optimum stands at the end of the admissible range ({where})")
    if not deviation < MOST_DEVIATION_PERCENT:
        found.append(f"mean relative deviation {_percent(deviation)}, {MOST_DEVIATION_PERCENT:g} % or more")
    share = 100.0 * fit.standard_error / max(float(np.ptp(fit.points.moisture_db)), 1e-12)
    if fit.n >= _ENOUGH and share >= MOST_SHARE_PERCENT:
        found.append(f"misses the points by {share:.0f} % of their range of moisture, {MOST_SHARE_PERCENT:g} % or more")
    return tuple(found)


def _curve_faults(fit: Fit) -> list[str]:
    a = np.linspace(*fit.valid_a_w, _STEADY)
    for kelvin in np.unique(fit.points.temperature_k):
        with np.errstate(all="ignore"):
            moisture, slope = curve_of(place_of(fit.model.key), a, np.array([kelvin]), fit.values)[:2]
        inside = moisture[1:-1]  # the ends of the range may be the ends of the equation
        if not np.isfinite(inside).all():
            return ["its curve is not finite in the range of the points"]
        if (slope[1:-1] < 0.0).any():
            return [f"its curve falls at a_w {a[1 + int(np.argmin(slope[1:-1]))]:.2f}"]
        if (inside < -_EXACT * np.abs(inside).max()).any():
            return [f"its curve lies below zero moisture at a_w {a[1 + int(np.argmin(inside))]:.2f}"]
    return []


def _deviation(fit: Fit) -> float:
    return relative_percent(fit.points.moisture_db, fit.points.moisture_db - fit.residuals)


def _pattern(fit: Fit) -> Pattern:
    residuals = fit.residuals
    scale = float(np.abs(fit.points.moisture_db).max())
    if not np.isfinite(residuals).all() or float(np.abs(residuals).max()) <= _EXACT * scale:
        residuals = np.zeros_like(residuals)
    if fit.points.u_moisture is not None:
        residuals = residuals / fit.points.u_moisture
    return pattern_of(fit.points.a_w, residuals)


def _stiff(best: Fit, pattern: Pattern, points: Points) -> tuple[str, ...]:
    """Said where even the best model misses points that are smooth in themselves: they have a form none of them has."""
    if len(points.temperatures()) > 1 or best.weighted:
        return ()
    order = np.argsort(points.a_w, kind="stable")
    own = max(pattern.scatter, scatter_of(points.a_w[order], points.moisture_db[order]))
    share = best.standard_error / float(np.ptp(points.moisture_db))
    if not (best.standard_error > _STIFF * own and share > (_STIFF_SHARE_CLEAR if pattern.clear else _STIFF_SHARE)):
        return ()
    said = [
        f"no model has the form of these points: the best, {best.model.name}, misses them by"
        f" {best.standard_error:.2g} kg/kg, while they scatter by no more than {own:.2g}"
    ]
    bend = sharpest_bend(points.a_w, points.moisture_db)
    if bend:
        at, before, after = bend
        said.append(
            f"a step that ends at a_w {at:.2g}: moisture rises by {0.1 * before:.2g} kg/kg for 0.1 of a_w before it,"
            f" by {0.1 * after:.2g} after it"
        )
    if pattern.clear:
        said.append(pattern.words)
    return tuple(said)


def _all_faulty(panel: Panel, faults: dict[str, tuple[str, ...]]) -> tuple[str, ...]:
    said = [f"{fit.model.name}: {'; '.join(faults[fit.model.key])}" for fit in panel.fits]
    said += [f"{name}: more parameters than points in its range" for name in panel.too_few]
    return ("no model describes these points without a fault", *said)


def _reasons(panel: Panel, best: Fit, ranked: list[Fit], usable: list[Fit], known: Choice) -> tuple[str, ...]:
    key = best.model.key
    lead = f"has the least AICc ({best.aicc:.1f}) of the {len(usable)} models without a fault"
    if len(usable) == 1:
        lead = f"is the only model without a fault (AICc {best.aicc:.1f})"
    said = [
        f"{best.model.name} {lead}; its weight of evidence among all is {panel.weights[key]:.2f}",
        f"mean relative deviation {_percent(known.deviation_percent[key])}, below {MOST_DEVIATION_PERCENT:g} %;"
        f" standard error {best.standard_error:.2g} kg/kg",
        known.patterns[key].words,
    ]
    said += [
        f"{fit.model.name} has a lower AICc ({fit.aicc:.1f}), but {'; '.join(known.faults[fit.model.key])}"
        for fit in ranked[: ranked.index(best)]
    ]
    if panel.beyond:
        said.append(f"{panel.beyond} points lie where not every model speaks and are left out for all")
    near = [fit for fit in usable[1:] if fit.aicc - best.aicc < _NEARLY]
    if near:
        names = " and ".join(fit.model.name for fit in near)
        said.append(
            f"{names} can hardly be told from it (AICc within {_NEARLY:g}): compare what they say where you need it"
        )
    return tuple(said)


def _cautions(panel: Panel, best: Fit, patterns: dict[str, Pattern]) -> tuple[str, ...]:
    said = []
    if patterns[best.model.key].clear:
        said.append(patterns[best.model.key].words)
    monolayer = best.parameters.get("monolayer_db")
    low, high = USUAL_MONOLAYER
    if monolayer is not None and not low <= monolayer <= high:
        said.append(f"monolayer {monolayer:.3g} kg/kg lies outside what is usual, {low:g} to {high:g}")
    both = {fit.model.key: fit.parameters["monolayer_db"] for fit in panel.fits if fit.model.key in ("gab", "bet")}
    if len(both) == 2:
        said.append(f"monolayer by GAB {both['gab']:.3g} kg/kg, by BET on its own range {both['bet']:.3g} kg/kg")
    return tuple(said)


def _percent(value: float) -> str:
    return f"{value:.1f} %" if math.isfinite(value) else "without end"
