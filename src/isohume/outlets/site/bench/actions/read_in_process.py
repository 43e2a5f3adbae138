"""Read for the line: drier or wetter than it should be. No lot, no certificate."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal

from isohume.bench.reading.in_process import Advice, advise
from isohume.bench.record.lot_description import STARTER_U
from isohume.foundation.quantity.errors import InputError
from isohume.foundation.quantity.typed import read_words
from isohume.outlets.site.bench.actions.record_run import instrument_refusals
from isohume.outlets.site.bench.masks import a_w_typed
from isohume.outlets.site.bench.models import InProcessReading
from isohume.outlets.site.bench.moments import event_time, plant_day
from isohume.outlets.site.checks.queries import gate
from isohume.outlets.site.ledger.actions import Action, By, Done
from isohume.outlets.site.people.competence import reasons_against
from isohume.outlets.site.people.models import Site
from isohume.outlets.site.people.roles import BENCH
from isohume.outlets.site.register.models import Instrument, Method, Product


@dataclass
class ReadInProcess(Action[InProcessReading]):
    """It names a product and a place on the line, never a lot: nothing is released by it."""

    name = "in_process_read"
    said = "Read for the line"
    roles = BENCH

    product: Product
    instrument: Instrument
    where: str
    a_w: str
    target_low: str = ""
    target_high: str = ""
    read_at: str | datetime = ""

    @property
    def site(self) -> Site:
        """The plant of the product."""
        return self.product.site

    def refusals(self, by: By) -> Iterable[str]:
        """The instrument must be fit to speak, and the person competent."""
        if self.instrument.site_id != self.product.site_id:
            return ["This instrument belongs to another plant."]
        at = event_time(self.read_at, "read_at", self.site, by.at)
        against = reasons_against(by.person, self.product.method, plant_day(at, self.site))
        return [*against, *instrument_refusals(self.instrument, gate(self.instrument, at))]

    def change(self, by: By) -> Done[InProcessReading]:
        """Keep the reading and what it tells the line."""
        where = read_words(self.where, "where", 120)
        if not where:
            raise InputError("where", "nothing", "where on the line, such as cooling tunnel, end")
        a_w = a_w_typed(self.a_w)
        low, high = (self._target(name) for name in ("target_low", "target_high"))
        advice = self._advice(a_w, low, high)
        reading = InProcessReading.objects.create(
            product=self.product,
            instrument=self.instrument,
            where=where,
            a_w=a_w,
            target_low=low,
            target_high=high,
            advice=advice.words,
            reasons=list(advice.reasons),
            read_at=event_time(self.read_at, "read_at", self.site, by.at),
            by=by.person,
        )
        details = {"where": where, "a_w": a_w, "target": [low, high], "advice": advice.words}
        return Done(reading, reading.ref, [self.product.ref, self.instrument.ref], details)

    def _target(self, name: str) -> str:
        typed = getattr(self, name)
        return a_w_typed(typed, name) if typed.strip() else ""

    def _advice(self, a_w: str, low: str, high: str) -> Advice:
        u = u_of_one(self.product.method)
        return advise(Decimal(a_w), Decimal(low) if low else None, Decimal(high) if high else None, u)


def u_of_one(method: Method) -> float:
    """The standard uncertainty of one portion by the method's budget; without one that of the published studies."""
    budget = method.current.budget if method.current else None
    if budget is None:
        return float(STARTER_U)
    if budget.u_other:
        return math.hypot(float(budget.u_other), float(budget.s_r or 0))
    return float(budget.s_reproducibility or STARTER_U)
