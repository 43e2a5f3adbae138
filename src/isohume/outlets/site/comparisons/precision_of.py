"""Repeatability and what else scatters, from own readings: lot, day, analyst, instrument, position, portion."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from zoneinfo import ZoneInfo

from isohume.foundation.metrology import (
    VarianceComponents,
    VarianceInterval,
    component_intervals,
    intermediate_precision,
    nested_components,
)
from isohume.outlets.site.comparisons.pairs import not_too_many, settled_runs
from isohume.outlets.site.people.models import Site
from isohume.outlets.site.register.models import Product

LEVELS = ("lot", "day", "analyst", "instrument", "position")
OF_THE_PRODUCT = frozenset({"lot", "position"})
"""What differs in the product and not in the measurement: shown, and no part of the intermediate precision."""
_TWO = {
    "lot": "as two lots",
    "day": "on two days",
    "analyst": "by two analysts",
    "instrument": "on two instruments",
    "position": "at two positions",
}
FEW_DOF = 15  # no source: fewer leave s_r known to a factor of 1.5 only


@dataclass(frozen=True, slots=True)
class Reading:
    """The last reading of a portion on an instrument that counts, with what it was read under."""

    a_w: float
    path: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Precision:
    """What the readings say. left_out: levels that cannot be told apart here, with the reason."""

    found: VarianceComponents | None
    levels: tuple[str, ...]
    left_out: tuple[tuple[str, str], ...]
    parts: dict[str, VarianceInterval]
    intermediate: VarianceInterval | None
    n: int
    lots: int
    reason: str = ""

    @property
    def measured(self) -> tuple[str, ...]:
        """The levels that belong to the measurement."""
        return tuple(level for level in self.levels if level not in OF_THE_PRODUCT)

    @property
    def s_intermediate(self) -> float | None:
        """Repeatability with the measurement's own components, each never below zero."""
        if self.intermediate is None:
            return None
        of = (*self.measured, "repeatability")
        return sum(self.parts[level].variance for level in of) ** 0.5


def readings_of(site: Site, product: Product, since: datetime) -> list[Reading]:
    """Of each portion and instrument the last one: reading a cup again is no replicate."""
    columns = (
        "portion_id", "instrument_id", "a_w", "read_at", "portion__sample__lot__code", "portion__sample__code",
        "instrument__name", "by__username",
    )  # fmt: skip
    zone = ZoneInfo(site.time_zone)
    last: dict[tuple[int, int], Reading] = {}
    runs = settled_runs(site, since, product).order_by("read_at", "pk").values_list(*columns)
    for portion, meter, a_w, at, lot, sample, instrument, person in not_too_many(runs):
        day = at.astimezone(zone).date().isoformat()
        last[portion, meter] = Reading(float(a_w), (lot, day, person, instrument, sample))
    return list(last.values())


def precision_of(readings: Sequence[Reading]) -> Precision:
    """Nested components of the levels that can be told apart; levels that change together are named, not guessed."""
    lots = len({one.path[0] for one in readings})
    levels, left_out = _told_apart(readings)
    where = [LEVELS.index(level) for level in levels]
    labels = [tuple(one.path[i] for i in where) for one in readings]
    groups = len(set(labels))
    if not levels or groups == len(readings):
        why = "No lot has two portions read alike: repeatability cannot be seen. Measure portions in duplicate."
        return Precision(None, (), left_out, {}, None, len(readings), lots, why)
    found = nested_components([one.a_w for one in readings], labels, levels)
    measured = [level for level in levels if level not in OF_THE_PRODUCT]
    parts = component_intervals(found)
    return Precision(found, levels, left_out, parts, intermediate_precision(found, measured), len(readings), lots)


def _told_apart(readings: Sequence[Reading]) -> tuple[tuple[str, ...], tuple[tuple[str, str], ...]]:
    """The levels that split a group of the level above somewhere; the others, with why not."""
    kept: list[int] = []
    left: list[tuple[str, str]] = []
    for i, level in enumerate(LEVELS):
        if len({one.path[i] for one in readings}) < 2:
            left.append((level, f"all readings are of one {level}"))
            continue
        above: dict[tuple[str, ...], set[str]] = defaultdict(set)
        for one in readings:
            above[tuple(one.path[k] for k in kept)].add(one.path[i])
        if all(len(inside) == 1 for inside in above.values()):
            left.append((level, f"no {_all_of(kept)} was read {_TWO[level]}"))
        else:
            kept.append(i)
    return tuple(LEVELS[i] for i in kept), tuple(left)


def _all_of(kept: Sequence[int]) -> str:
    """What the readings agreed in: the group that would have to be split."""
    named = [LEVELS[i] for i in kept] or ["lot"]
    return named[0] + "".join(f" of one {level}" for level in named[1:])
