"""A lot's value at the temperature it was read at: as its record decided it, or the mean of what was read."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from isohume.outlets.site.bench.models import Lot, Run
from isohume.outlets.site.lots.evidence_of_lot import runs_of
from isohume.outlets.site.lots.frozen import frozen
from isohume.outlets.site.lots.models import LotRecord
from isohume.outlets.site.lots.state_of_lot import last_record
from isohume.outlets.site.register.figures import budget_of


@dataclass(frozen=True, slots=True)
class AsRead:
    """A value with its u and the temperature it was read at; `record` where a decision stands behind it."""

    a_w: float
    u: float | None
    at_c: float
    words: str
    record: LotRecord | None = None


def as_read(lot: Lot) -> tuple[AsRead | None, list[str]]:
    """The value of a lot, or why there is none.

    A lot whose specification holds at another temperature than its method reads at is never judged, and it is the very
    one that is to be restated: there the portions that were read speak, as they would be averaged.
    """
    record = last_record(lot)
    if record is not None and record.value is not None:
        at_c, words = _of_record(frozen(record.record).content)
        return AsRead(record.value, record.u, at_c, f"the decided value of record {record.record}; {words}", record), []
    return _of_runs(lot)


def _of_record(content: Mapping[str, Any]) -> tuple[float, str]:
    """The temperature a decided value was read at, and where it comes from."""
    used = [one["block_temperature_c"] for one in content["readings"] if one["use"] == "replicate"]
    return _temperature([float(one) for one in used if one is not None], content["method"]["temperature_c"])


def _of_runs(lot: Lot) -> tuple[AsRead | None, list[str]]:
    first: dict[int, Run] = {}
    for run in runs_of(lot):
        if run.counts:
            first.setdefault(run.portion_id, run)  # a second read of one cup is no replicate
    if not first:
        return None, ["The lot has no value yet: read its portions first."]
    runs = list(first.values())
    version = runs[-1].method_version
    if len(runs) < version.portions:
        asked = f"the method asks for {version.portions}"
        return None, [f"{len(runs)} of its portions was read, {asked}: read them first."]
    blocks = [float(run.block_temperature_c) for run in runs if run.block_temperature_c]
    at_c, words = _temperature(blocks, version.temperature_c)
    mean = sum(float(run.a_w) for run in runs) / len(runs)
    said = f"the mean of {len(runs)} portions as read, not judged; {words}"
    return AsRead(mean, budget_of(version).u, at_c, said), []


def _temperature(blocks: list[float], of_method: str) -> tuple[float, str]:
    if blocks:
        return sum(blocks) / len(blocks), f"mean block temperature of {len(blocks)}"
    return float(of_method), "the method's temperature: no block temperature is on record"
