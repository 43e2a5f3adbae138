"""The picture of a study or a kept isotherm: one specification for screen and paper."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from isohume.outlets.paper.isotherm_spec import IsothermSpec, SorptionCurve, SorptionLimit, SorptionPoint
from isohume.outlets.site.studies.answers import LEVELS, Limit, Saved
from isohume.outlets.site.studies.words import model_of

Sets = Sequence[Mapping[str, Any]]


def picture_of(title: str, sets: Sets, level: str = "95", limit: Limit | None = None) -> IsothermSpec:
    """Points and curves of the sets of one temperature, each direction apart."""
    points = [point for one in sets for point in _points(one)]
    curves = [curve for one in sets for curve in _curves(one, level)]
    return IsothermSpec(title, points, curves, _limit(limit), LEVELS[level])


def at_one_temperature(sets: Sets, temperature_c: str) -> Sets:
    """The sets that belong on one picture."""
    return [one for one in sets if one["temperature_c"] == temperature_c]


def _points(one: Mapping[str, Any]) -> Iterable[SorptionPoint]:
    low, high = (one["curve"]["a_w"][0], one["curve"]["a_w"][-1]) if one["curve"] else (0.0, 1.0)
    for _, a_w, moisture, *_ in one["points"]:
        yield SorptionPoint(a_w, moisture, one["direction"], low <= a_w <= high)


def _curves(one: Mapping[str, Any], level: str) -> Iterable[SorptionCurve]:
    if one["curve"] is None:
        return
    model = model_of(one, one["recommended"])
    assert model is not None  # a curve is of a model
    saved = one["curve"]
    reach = Saved.of(one).reach(int(level) / 100)
    pairs = list(zip(saved["moisture"], saved["u"], strict=True))
    low, high = [m - reach * u for m, u in pairs], [m + reach * u for m, u in pairs]
    direction = one["direction"]
    yield SorptionCurve(
        model["name"], tuple(saved["a_w"]), tuple(saved["moisture"]), tuple(low), tuple(high), direction
    )


def _limit(limit: Limit | None) -> SorptionLimit | None:
    if limit is None:
        return None
    found, across = limit.moisture, limit.a_w_there
    return SorptionLimit(limit.asked_at, found.value, found.low, found.high, across.low, across.high)
