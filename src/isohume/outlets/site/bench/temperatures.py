"""The temperatures of cups as they were taken, from the trail, and when a cup is ready by them."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from isohume.bench.reading.tempering import Tempering, ready_at, tempering_limit_k
from isohume.outlets.site.bench.limits import expected_a_w
from isohume.outlets.site.bench.models import Portion
from isohume.outlets.site.ledger.models import TrailLine
from isohume.outlets.site.ledger.trail import lines_at
from isohume.outlets.site.register.models import Instrument, MethodVersion

PREPARED, TAKEN = "portion_prepared", "temperature_taken"
Taken = list[tuple[datetime, float]]


@dataclass(frozen=True, slots=True)
class Block:
    """Where a cup will be read: the block's temperature and whether the instrument sees the sample's surface."""

    temperature_c: str
    measures_surface_temperature: bool

    @classmethod
    def of(cls, method: MethodVersion, instrument: Instrument | None, typed: str = "") -> Block:
        """The block as typed, else as the method asks; no instrument chosen is the careful case."""
        sees = instrument is not None and instrument.measures_surface_temperature
        return cls(typed or method.temperature_c, sees)


def temperatures_of(portions: Iterable[Portion]) -> dict[str, Taken]:
    """Every temperature taken of these cups, by the cup's name in the ledger, in two queries."""
    portions = list(portions)
    refs = [portion.ref for portion in portions]
    cup_of = {seq: ref for ref, seq in TrailLine.objects.filter(ref__in=refs).values_list("ref", "seq")}
    found: dict[str, Taken] = defaultdict(list)
    for line in lines_at(sorted(cup_of)):
        if line.kind not in (PREPARED, TAKEN) or not line.details.get("temperature_c"):
            continue
        at, typed = line.details.get("taken_at") or line.details["prepared_at"], line.details["temperature_c"]
        celsius = typed[1] if isinstance(typed, list) else typed  # a change names old and new
        found[cup_of[line.seq]].append((datetime.fromisoformat(at), float(celsius)))
    for portion in portions:
        if portion.temperature_at is not None and portion.ref not in found:
            found[portion.ref] = [(portion.temperature_at, float(portion.temperature_c))]
    return found


def tempering(portion: Portion, method: MethodVersion, block: Block, taken: Taken, now: datetime) -> Tempering | None:
    """When the cup is forecast to be close enough to the block; None where its temperature was never taken."""
    if not taken:
        return None
    last, at_block = max(taken)[1], float(block.temperature_c)
    stated = float(method.mismatch_limit_c) if method.mismatch_limit_c else None
    limit = tempering_limit_k(
        expected_a_w(portion.sample.lot.specification),
        at_block,
        block.measures_surface_temperature,
        stated,
        colder=last < at_block,
    )
    return ready_at(taken, at_block, limit, now=now)
