"""Many models fitted to the same points, with their weights of evidence and an average of what they say."""

from __future__ import annotations

import itertools
import operator
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property, lru_cache
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from isohume.foundation.quantity.errors import InputError, UnknownNameError
from isohume.product.sorption.catalogue import PANEL, model_named
from isohume.product.sorption.fitting import Outcome, fit_keys, fits_of
from isohume.product.sorption.isotherm_fit import Fit
from isohume.product.sorption.points import Points

_MOST_OF_A_W = 0.6  # BET, which ends at 0.5, has a range of its own


@dataclass(frozen=True, eq=False)
class Panel:
    """The fits of several models to one set of points, in the order they were asked for."""

    given: Points
    points: Points  # those inside the range of every model but BET, which has its own: only they can be compared
    keys: tuple[str, ...]
    outcome: Outcome  # parameters, covariances and figures as arrays, one row a model
    too_few: tuple[str, ...] = ()  # models that have more parameters than there are points in their range

    @property
    def beyond(self) -> int:
        """How many points were left out for all models, because one of them does not speak there."""
        return self.given.count - self.points.count

    @cached_property
    def fits(self) -> tuple[Fit, ...]:
        """The fits as objects, made when they are looked at."""
        return fits_of(self.points, self.keys, self.outcome)

    def __getitem__(self, name: str) -> Fit:
        key = model_named(name).key
        for each in self.fits:
            if each.model.key == key:
                return each
        raise UnknownNameError("model", name, [each.model.key for each in self.fits])

    @cached_property
    def weights(self) -> dict[str, float]:
        """Akaike weights by key, from AICc; 0 for a model that saw fewer points or has no AICc."""
        values = {each.model.key: each.aicc for each in self.fits if not each.left_out and np.isfinite(each.aicc)}
        least = min(values.values(), default=0.0)
        raw = {key: float(np.exp(-0.5 * (value - least))) for key, value in values.items()}
        total = sum(raw.values()) or 1.0
        return {each.model.key: raw.get(each.model.key, 0.0) / total for each in self.fits}

    def moisture(self, a_w: ArrayLike) -> Any:
        """The model-averaged moisture on dry basis: each model's curve by its weight of evidence."""
        parts = [(self.weights[each.model.key], each) for each in self.fits if self.weights[each.model.key] > 0.0]
        if not parts:
            raise InputError("models", "none with a weight", "points enough for at least one model's AICc")
        return sum(weight * each.moisture(a_w) for weight, each in parts)


def fit_panel(points: Points, models: Sequence[str] = PANEL) -> Panel:
    """Several isotherm models fitted to the same points in one call, each at its global optimum.

        min over p of sum ((X_i - X(a_i; p))/u(X_i))^2 for each model; weights from AICc
    points: the measured points [1].
    models: names or keys of the models [text], the panel of eleven by default.
    Returns: Panel; models with more parameters than points in their range are named in `too_few`.
    Raises: UnknownNameError for a model, InputError where no model can be fitted.
    Beyond: points where one of the models does not speak (a_w 0, above 0.99) are left out for all and counted; BET
        alone has a range of its own.
    Example: noiseless GAB points leave GAB a weight of 1.000.
    Source: GolubPereyra1973, BurnhamAnderson2002.
    """
    keys, sizes, common = _asked(tuple(models))
    outcome = fit_keys(points, keys, common)
    seen = outcome.seen
    used = points if max(seen) == points.count else _inside(points, common)
    if all(map(operator.ge, seen, sizes)):
        return Panel(points, used, keys, outcome)
    enough = [n >= size for n, size in zip(seen, sizes, strict=True)]
    if not any(enough):
        raise InputError("points", points.count, "at least as many points as one of the models has parameters")
    return Panel(
        points,
        used,
        tuple(itertools.compress(keys, enough)),
        Outcome(outcome.rows[enough]),
        tuple(key for key, fits in zip(keys, enough, strict=True) if not fits),
    )


def _inside(points: Points, ends: tuple[float, float]) -> Points:
    inside = (points.a_w >= ends[0]) & (points.a_w <= ends[1])
    return points if inside.all() else points.of(inside)


@lru_cache(maxsize=256)
def _asked(models: tuple[str, ...]) -> tuple[tuple[str, ...], tuple[int, ...], tuple[float, float]]:
    """The models' keys, how many parameters each has, and the a_w where every one that covers most of it speaks.

    AICc compares fits of the same points only: one point at a_w 0.995, where GAB does not speak, would otherwise take
    GAB's weight away.
    """
    found = tuple(model_named(each) for each in models)
    ranges = [each.valid_a_w for each in found if each.valid_a_w[1] > _MOST_OF_A_W]
    common = (0.0, 1.0)
    if ranges and len(found) > 1:
        common = max(low for low, _ in ranges), min(high for _, high in ranges)
    return tuple(each.key for each in found), tuple(len(each.parameters) for each in found), common
