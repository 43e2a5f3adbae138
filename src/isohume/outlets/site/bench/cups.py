"""The cups that wait, with their clocks and when they may be read; and where they are expected on the a_w line."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from isohume.bench.reading.portion_clock import Clock
from isohume.bench.reading.tempering import Tempering
from isohume.outlets.paper.line_spec import ValueMark
from isohume.outlets.site.bench.limits import clock_of, expected_a_w
from isohume.outlets.site.bench.models import Portion
from isohume.outlets.site.bench.temperatures import Block, Taken, temperatures_of, tempering
from isohume.outlets.site.register.models import MethodVersion, SpecificationVersion


@dataclass(frozen=True, slots=True)
class WaitingCup:
    """A cup that waits to be read: how long it has stood, and when its temperature lets it be read."""

    portion: Portion
    clock: Clock | None
    tempering: Tempering | None  # None where its temperature was not taken

    @property
    def over(self) -> bool:
        """Whether it stood longer than the method allows."""
        return self.clock is not None and self.clock.over

    @property
    def left(self) -> float:
        """The minutes it may still stand; a cup of a method without a version is put last."""
        return self.clock.left_minutes if self.clock is not None else float("inf")


def waiting_cups(portions: Iterable[Portion], versions: dict[int, MethodVersion], now: datetime) -> list[WaitingCup]:
    """The cups, those whose time runs out first at the top."""
    portions = list(portions)
    taken = temperatures_of(portions)
    found = [
        _cup(portion, versions.get(portion.sample.lot.product.method_id), taken.get(portion.ref, []), now)
        for portion in portions
    ]
    return sorted(found, key=lambda cup: (not cup.over, cup.left, cup.portion.pk))


def expected_marks(cups: Iterable[WaitingCup]) -> list[ValueMark]:
    """Where the waiting samples are expected on the a_w line: one mark a specification."""
    counted: dict[int, tuple[SpecificationVersion, str, int]] = {}
    for cup in cups:
        lot = cup.portion.sample.lot
        _, _, n = counted.get(lot.specification_id, (None, "", 0))
        counted[lot.specification_id] = (lot.specification, lot.product.name, n + 1)
    return [
        ValueMark(f"{n} × {name}", expected_a_w(spec), f"{expected_a_w(spec):g}", kind="expected")
        for spec, name, n in counted.values()
    ]


def _cup(portion: Portion, method: MethodVersion | None, taken: Taken, now: datetime) -> WaitingCup:
    if method is None:
        return WaitingCup(portion, None, None)
    # which instrument will read it is not known yet: the careful case
    forecast = tempering(portion, method, Block.of(method, None), taken, now)
    return WaitingCup(portion, clock_of(portion, method, now), forecast)
