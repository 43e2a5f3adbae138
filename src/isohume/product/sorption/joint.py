"""Points of several temperatures together: forms with temperature compared with one another and separate fits."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from isohume.foundation.quantity.errors import InputError, UnknownNameError
from isohume.product.sorption.catalogue import MODELS, model_named
from isohume.product.sorption.isotherm_fit import Fit, fit
from isohume.product.sorption.points import Points

SEPARATE = "separate"  # the name of one plain isotherm a temperature, among the forms
_FAR_BETTER = 10.0  # difference of AICc from which the weaker one has essentially no support


@dataclass(frozen=True, eq=False)
class Joint:
    """The fits of every form to all points, the separate fits, and what AICc says of them."""

    points: Points
    fits: tuple[Fit, ...]
    separate: dict[float, Fit]  # by temperature [degC]; empty where a temperature has too few points
    aicc: dict[str, float]  # by the form's key, and "separate"; nan where there are too few points for it
    weights: dict[str, float]
    recommended: str | None
    reasons: tuple[str, ...]

    def __getitem__(self, name: str) -> Fit:
        key = model_named(name).key
        for each in self.fits:
            if each.model.key == key:
                return each
        raise UnknownNameError("model", name, [each.model.key for each in self.fits])

    @property
    def best(self) -> tuple[Fit, ...]:
        """The fits that are recommended, as isosteric_heat takes them; empty where none is."""
        if self.recommended == SEPARATE:
            return tuple(self.separate.values())
        return tuple(each for each in self.fits if each.model.key == self.recommended)


def fit_joint(points: Points, models: Sequence[str] | None = None, separate: str = "gab") -> Joint:
    """Forms with temperature fitted to the points of all temperatures, beside one plain isotherm a temperature.

        AICc = n ln(S/n) + 2 k + 2 k (k + 1)/(n - k - 1), k parameters and the variance; S summed over the separate fits
    points: points of two temperatures or more, one direction [text].
    models: names or keys of forms with temperature [text]; all of them if left.
    separate: the plain model fitted at each temperature [text].
    Returns: Joint: the fits, their AICc and weights, and a recommendation with reasons.
    Raises: InputError for fewer than two temperatures, mixed directions, or a model of the wrong kind.
    Beyond: a form whose range leaves points out is fitted, and not compared.
    Example: points of modified Oswin at 15, 25 and 35 degC leave it the weight.
    Source: BurnhamAnderson2002.
    """
    if len(points.temperatures()) < 2:
        raise InputError("temperature_c", len(points.temperatures()), "points at two temperatures or more")
    if len(points.branches()) > 1:
        raise InputError("direction", "adsorption and desorption", "one direction: branches are never mixed")
    fits = tuple(fit(points, key) for key in _forms(models, points))
    apart = _separate(points, separate)
    aicc = {each.model.key: math.nan if each.left_out else each.aicc for each in fits}
    aicc[SEPARATE] = _aicc_of(apart, points.count)
    weights = _weights(aicc)
    recommended, reasons = _recommended(fits, aicc, weights, separate)
    return Joint(points, fits, apart, aicc, weights, recommended, reasons)


def _forms(models: Sequence[str] | None, points: Points) -> list[str]:
    """The keys of the forms, without those that have more parameters than there are points unless asked for by name."""
    if models is None:
        known = [each for each in MODELS.values() if each.needs_temperature]
        return [each.key for each in known if _inside(points, each.valid_a_w) > len(each.parameters)]
    keys = [model_named(each).key for each in models]
    for key in keys:
        if not MODELS[key].needs_temperature:
            raise InputError("models", key, "forms with temperature; plain isotherms go to `separate`")
    return keys


def _inside(points: Points, valid_a_w: tuple[float, float]) -> int:
    return int(((points.a_w >= valid_a_w[0]) & (points.a_w <= valid_a_w[1])).sum())


def _separate(points: Points, separate: str) -> dict[float, Fit]:
    """One plain isotherm a temperature; none at all where one of them has no more points than parameters."""
    model = model_named(separate)
    if model.needs_temperature:
        raise InputError("separate", separate, "a plain isotherm")
    parts = points.temperatures()
    if any(_inside(part, model.valid_a_w) <= len(model.parameters) for part in parts.values()):
        return {}
    return {temperature: fit(part, model) for temperature, part in parts.items()}


def _aicc_of(apart: dict[float, Fit], n: int) -> float:
    """The criterion of all separate fits as one description of all points."""
    free = sum(len(each.values) for each in apart.values()) + 1
    total = math.fsum(each.chi_square for each in apart.values())
    if not apart or any(each.left_out for each in apart.values()) or n <= free + 1 or total <= 0.0:
        return math.nan
    return n * math.log(total / n) + 2 * free + 2 * free * (free + 1) / (n - free - 1)


def _weights(aicc: dict[str, float]) -> dict[str, float]:
    known = {key: value for key, value in aicc.items() if math.isfinite(value)}
    least = min(known.values(), default=0.0)
    raw = {key: math.exp(-0.5 * (value - least)) for key, value in known.items()}
    total = math.fsum(raw.values()) or 1.0
    return {key: raw.get(key, 0.0) / total for key in aicc}


def _recommended(
    fits: tuple[Fit, ...], aicc: dict[str, float], weights: dict[str, float], separate: str
) -> tuple[str | None, tuple[str, ...]]:
    """The description with the most evidence, in words; none where nothing can be compared."""
    said = [
        f"{each.model.name} leaves {each.left_out} points out and is not compared" for each in fits if each.left_out
    ]
    if not math.isfinite(aicc[SEPARATE]):
        said.append(
            f"separate {model_named(separate).name} isotherms are not compared: too few points at a temperature"
        )
    ranked = sorted((key for key in aicc if math.isfinite(aicc[key])), key=lambda key: aicc[key])
    if not ranked:
        return None, (*said, "no description has more points than it needs to be judged")
    best = ranked[0]
    said.insert(0, f"{_called(best, separate)} has the least AICc (weight {weights[best]:.3f})")
    if best == SEPARATE and len(ranked) > 1:
        gap = aicc[ranked[1]] - aicc[best]
        much = (
            "no form with temperature describes these points" if gap > _FAR_BETTER else "the best form is close behind"
        )
        said.append(f"{much}: {_called(ranked[1], separate)} is {gap:.1f} behind")
    elif len(ranked) > 1:
        said.append(f"next is {_called(ranked[1], separate)}, {aicc[ranked[1]] - aicc[best]:.1f} behind")
    return best, tuple(said)


def _called(key: str, separate: str) -> str:
    return f"separate {model_named(separate).name} isotherms" if key == SEPARATE else MODELS[key].name
