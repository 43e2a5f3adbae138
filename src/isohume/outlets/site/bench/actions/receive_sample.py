"""Receive a laboratory sample of a lot, and where asked its cups in the same act."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from isohume.foundation.quantity.errors import InputError
from isohume.foundation.quantity.typed import read_words
from isohume.outlets.site.bench.actions.decided import refuse_decided
from isohume.outlets.site.bench.actions.prepare_portion import PreparePortion
from isohume.outlets.site.bench.codes import next_number, read_code
from isohume.outlets.site.bench.masks import temperature_typed
from isohume.outlets.site.bench.models import Lot, Sample
from isohume.outlets.site.bench.moments import event_time, plant_day
from isohume.outlets.site.ledger.actions import Action, By, Done, perform
from isohume.outlets.site.people.models import Site
from isohume.outlets.site.people.roles import BENCH

MOST_PORTIONS = 10
SEALED = {"yes": True, "no": False}


@dataclass
class ReceiveSample(Action[Sample]):
    """From where it was taken, which component it is, and in which condition it came."""

    name = "sample_received"
    said = "Received a sample"
    roles = BENCH

    lot: Lot
    position: str
    component: str = ""
    sealed: str | bool = ""
    code: str = ""
    temperature_c: str = ""
    received_at: str | datetime = ""
    reason: str = ""  # why a lot that is released or rejected takes another sample
    portions: str | int = 0  # cups to prepare in the same act
    cover: str = "lidded"

    @property
    def site(self) -> Site:
        """The plant of the lot."""
        return self.lot.site

    def refusals(self, by: By) -> Iterable[str]:
        """A decided lot takes no sample without a reason."""
        return refuse_decided(self.lot, self.reason, "another sample")

    def change(self, by: By) -> Done[Sample]:
        """Take it in and prepare its cups."""
        position = read_words(self.position, "position", 120)
        if not position:
            raise InputError("position", "nothing", "where in the lot it was taken, such as rack 4, middle")
        component, sealed, portions = self._component(), self._sealed(), self._portions()
        temperature = temperature_typed(self.temperature_c)
        sample = Sample.objects.create(
            lot=self.lot,
            code=self._free_code(),
            position=position,
            component=component,
            sealed=sealed,
            temperature_c=temperature,
            received_at=self._received(by),
            by=by.person,
        )
        for _ in range(portions):
            perform(PreparePortion(sample, cover=self.cover, temperature_c=temperature, reason=self.reason), by)
        details = {"code": sample.code, "position": position, "component": component, "sealed": sealed}
        if temperature:
            details["temperature_c"] = temperature
        return Done(sample, sample.ref, [self.lot.ref], details, read_words(self.reason, "reason", 1000))

    def _component(self) -> str:
        """The component as the product names it; needed where the product has several."""
        known = {name.casefold(): name for name in self.lot.product.components}
        typed = read_words(self.component, "component", 60)
        if not typed and len(known) <= 1:
            return next(iter(known.values()), "")
        found = known.get(typed.casefold())
        if found is None:
            allowed = ", ".join(known.values()) or "none: the product has no named components"
            raise InputError("component", typed or "nothing", f"which component was sampled: {allowed}")
        return found

    def _sealed(self) -> bool:
        sealed = self.sealed if isinstance(self.sealed, bool) else SEALED.get(self.sealed.strip().casefold())
        if sealed is None:
            raise InputError("sealed", self.sealed or "nothing", "yes or no: was it sealed when it came?")
        return sealed

    def _portions(self) -> int:
        text = str(self.portions).strip() or "0"
        if not (text.isascii() and text.isdigit() and len(text) < 9 and int(text) <= MOST_PORTIONS):
            raise InputError("portions", text, f"a whole number of cups, 0 to {MOST_PORTIONS}")
        return int(text)

    def _free_code(self) -> str:
        taken = list(self.lot.samples.values_list("code", flat=True))
        if not self.code.strip():
            return next_number(taken)
        code = read_code(self.code, "code", 60)
        if code.casefold() in {other.casefold() for other in taken}:
            raise InputError("code", code, f"a code that no sample of lot {self.lot.code} has yet")
        return code

    def _received(self, by: By) -> datetime:
        at = event_time(self.received_at, "received_at", self.site, by.at)
        if self.lot.produced_on is not None and plant_day(at, self.site) < self.lot.produced_on:
            raise InputError("received_at", at.isoformat(), f"a time after the lot was made ({self.lot.produced_on})")
        return at
