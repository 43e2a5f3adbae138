"""The isotherm models by name, and packed into arrays for the kernels."""

from __future__ import annotations

import difflib
from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import NDArray

from isohume.foundation.quantity.errors import UnknownNameError
from isohume.product.sorption.kernels.layout import WIDTH
from isohume.product.sorption.model import Model
from isohume.product.sorption.models import dispatch

MODELS: dict[str, Model] = {module.MODEL.key: module.MODEL for module in dispatch.MODULES}
PANEL: tuple[str, ...] = (
    "gab", "bet", "oswin", "halsey", "henderson", "chung_pfost", "smith", "peleg", "iglesias_chirife", "caurie",
    "lewicki",
)  # fmt: skip
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


@cache
def sizes_of(keys: tuple[str, ...]) -> NDArray[np.int64]:
    """How many parameters several models have."""
    return np.array([len(MODELS[key].parameters) for key in keys])


def place_of(key: str) -> int:
    """Where a model stands in the kernels' list."""
    return _PLACES[key]


@dataclass(frozen=True, slots=True)
class Packed:
    """All models as the kernels take them: one row a model."""

    counts: NDArray[np.int64]  # features, linear, nonlinear
    ranges: NDArray[np.float64]
    low: NDArray[np.float64]
    high: NDArray[np.float64]
    positive: NDArray[np.bool_]
    starts: NDArray[np.float64]
    start_counts: NDArray[np.int64]
    most_rows: tuple[int, int, int, int]  # the largest features, linear, nonlinear and starts


@cache
def packed(wide: bool = False) -> Packed:
    """The models packed, with their admissible boxes, or `wide` with the boxes of the unconstrained optimum."""
    models = list(MODELS.values())
    number, longest = len(models), max(len(each.starts) for each in models)
    low, high = np.zeros((number, WIDTH)), np.zeros((number, WIDTH))
    positive, starts = np.zeros((number, WIDTH), np.bool_), np.zeros((number, longest, WIDTH))
    for row, model in enumerate(models):
        q = model.nonlinear
        low[row, :q] = model.theta_wide_low if wide and model.theta_wide_low else model.theta_low
        high[row, :q] = model.theta_wide_high if wide and model.theta_wide_high else model.theta_high
        positive[row, : model.linear] = (not wide) & np.asarray(model.positive, np.bool_)
        for place, start in enumerate(model.starts):
            starts[row, place, :q] = start
    counts = np.array([[each.features, each.linear, each.nonlinear] for each in models])
    return Packed(
        counts=counts,
        ranges=np.array([each.valid_a_w for each in models]),
        low=low,
        high=high,
        positive=positive,
        starts=starts,
        start_counts=np.array([[len(each.starts), each.start_block, each.followed] for each in models]),
        most_rows=(*counts.max(axis=0).tolist(), longest),
    )
