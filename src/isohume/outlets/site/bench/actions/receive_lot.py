"""Receive a lot: its code, its product, and the specification it will be judged by."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime

from isohume.foundation.quantity.errors import InputError
from isohume.foundation.quantity.typed import read_words
from isohume.outlets.site.bench.codes import read_code
from isohume.outlets.site.bench.models import Lot
from isohume.outlets.site.bench.moments import event_day, event_time, plant_day
from isohume.outlets.site.bench.scope import scope_words
from isohume.outlets.site.ledger.actions import Action, By, Done
from isohume.outlets.site.people.models import Site
from isohume.outlets.site.people.roles import BENCH
from isohume.outlets.site.register.models import Product


@dataclass
class ReceiveLot(Action[Lot]):
    """A lot keeps the specification that was current when it came; a later version does not reach it."""

    name = "lot_received"
    said = "Received a lot"
    roles = BENCH

    product: Product
    code: str
    produced_on: str | date = ""
    received_at: str | datetime = ""
    description: str = ""
    customer: str = ""

    @property
    def site(self) -> Site:
        """The plant of the product."""
        return self.product.site

    def refusals(self, by: By) -> Iterable[str]:
        """Without a specification nothing could be decided."""
        if self.product.specification is None:
            yield f"{self.product.name} has no specification: the lot could not be judged by anything."

    def change(self, by: By) -> Done[Lot]:
        """Take it in; a product outside the method's scope is taken in too, and said."""
        code = self._free_code()
        received_at = event_time(self.received_at, "received_at", self.site, by.at)
        specification = self.product.specification
        assert specification is not None  # the refusals came first
        lot = Lot.objects.create(
            site=self.site,
            code=code,
            key=code.casefold(),
            product=self.product,
            specification=specification,
            description=read_words(self.description, "description"),
            produced_on=self._produced(plant_day(received_at, self.site)),
            received_at=received_at,
            customer=read_words(self.customer, "customer", 120),
            entered_at=by.at,
            by=by.person,
        )
        details = {"code": code, "product": self.product.name, "specification": specification.version}
        outside = scope_words(self.product)
        if outside:
            details["scope"] = list(outside)
        return Done(lot, lot.ref, [self.product.ref, specification.ref], details)

    def _free_code(self) -> str:
        code = read_code(self.code, "code", 60)
        if Lot.objects.filter(site=self.site, key=code.casefold()).exists():
            raise InputError("code", code, "a code that no lot has yet (in any case); open that lot for another sample")
        return code

    def _produced(self, received: date) -> date | None:
        day = event_day(self.produced_on, "produced_on")
        if day is not None and day > received:
            raise InputError("produced_on", day.isoformat(), f"a day not after the lot was received ({received})")
        return day
