"""The isotherm models by name, and packed into arrays for the kernels."""

from __future__ import annotations

import difflib
from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import NDArray

from isohume.foundation.quantity.errors import UnknownNameError
from isohume.product.sorption.kernels.layout import (
    AXES,
    GRID,
    HIGH,
    LOW,
    NO_PARTS,
    PARTS,
    PLAN,
    POSITIVE,
    SUM,
    TWO,
    WIDTH,
)
from isohume.product.sorption.model import Model
from isohume.product.sorption.models import dispatch

MODELS: dict[str, Model] = {module.MODEL.key: module.MODEL for module in dispatch.MODULES}
PANEL: tuple[str, ...] = (
    "gab", "bet", "oswin", "halsey", "henderson", "chung_pfost", "smith", "peleg", "iglesias_chirife", "caurie",
    "lewicki",
)  # fmt: skip
_PARTS = {"": NO_PARTS, "sum": SUM, "two": TWO}
_PLACES = {key: place for place, key in enumerate(MODELS)}


def _plain(name: str) -> str:
    return "_".join(name.lower().replace("-", " ").replace("_", " ").replace(",", " ").split())


_BY_NAME = {_plain(model.name): key for key, model in MODELS.items()}


def model_named(name: str) -> Model:
    """The isotherm model of a name, as printed or as a key; case, hyphens and spaces do not matter.

    name: name of the model [text], such as "GAB" or "chung-pfost".
    Returns: Model.
    Raises: UnknownNameError with the nearest known names.
    Example: model_named("Chung-Pfost").key = "chung_pfost".
    Source: none (a register).
    """
    key = name if name in MODELS else _BY_NAME.get(_plain(name), _plain(name))
    if key not in MODELS:
        raise UnknownNameError("model", name, difflib.get_close_matches(key, MODELS, n=3, cutoff=0.4) or list(PANEL))
    return MODELS[key]


@cache
def places_of(keys: tuple[str, ...]) -> NDArray[np.int64]:
    """Where several models stand in the kernels' list."""
    return np.array([_PLACES[key] for key in keys])


def place_of(key: str) -> int:
    """Where a model stands in the kernels' list."""
    return _PLACES[key]


@dataclass(frozen=True, slots=True)
class Packed:
    """All models as the kernels take them: one row a model (see kernels/layout.py)."""

    whole: NDArray[np.int64]
    real: NDArray[np.float64]
    most: tuple[int, int, int, int, int]  # the largest features, linear coefficients, coordinates, starts and places


@cache
def packed(wide: bool = False) -> Packed:
    """The models packed, with their admissible boxes, or `wide` with the boxes of the unconstrained optimum."""
    models = list(MODELS.values())
    longest = max(sum(map(len, each.axes)) for each in models)
    whole = np.zeros((len(models), AXES + WIDTH), np.int64)
    real = np.zeros((len(models), GRID + longest))
    for row, model in enumerate(models):
        p, q = model.linear, model.nonlinear
        places = sum(map(len, model.axes))
        whole[row, :POSITIVE] = model.features, p, q, len(model.starts), places, _PARTS[model.parts], model.every
        whole[row, POSITIVE : POSITIVE + p] = (not wide) & np.asarray(model.positive, np.bool_)
        whole[row, PLAN], whole[row, AXES : AXES + q] = model.followed, [len(each) for each in model.axes]
        real[row, :LOW] = model.valid_a_w
        real[row, LOW : LOW + q] = model.theta_wide_low if wide and model.theta_wide_low else model.theta_low
        real[row, HIGH : HIGH + q] = model.theta_wide_high if wide and model.theta_wide_high else model.theta_high
        grid = [place for axis in model.axes for place in axis]
        real[row, GRID : GRID + len(grid)] = grid
    return Packed(whole, real, tuple(whole[:, :PARTS].max(axis=0).tolist()))
