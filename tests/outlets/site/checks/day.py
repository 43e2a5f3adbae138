"""A bench day to test with: plant, people, instrument, two bottles, and the acts of a morning as real actions."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from tests.outlets.site import make

from isohume.outlets.site.bench.models import Lot, Portion, Run, Sample
from isohume.outlets.site.checks.actions.fill_start_sheet import FillStartSheet
from isohume.outlets.site.checks.actions.record_check import RecordCheck
from isohume.outlets.site.checks.models import Check, StartSheet
from isohume.outlets.site.ledger.actions import By, perform
from isohume.outlets.site.people.models import Person, Site
from isohume.outlets.site.people.roles import ANALYST, AUDITOR, MANAGER
from isohume.outlets.site.register.models import Bottle, Instrument, MethodVersion

NOW = make.NOW
# Greenspan 1977 at 25 degC, as printed: MgCl2 32.78 %, NaCl 75.29 %
MGCL2_AT_25, NACL_AT_25 = 0.3278, 0.7529
BACKEND = "django.contrib.auth.backends.ModelBackend"


@dataclass
class Day:
    """The plant and who works there this morning."""

    site: Site
    analyst: Person
    manager: Person
    auditor: Person
    method: MethodVersion
    instrument: Instrument
    mgcl2: Bottle
    nacl: Bottle

    def by(self, at: datetime = NOW, person: Person | None = None) -> By:
        """The analyst, now."""
        return By(person or self.analyst, at)

    def start(self, at: datetime = NOW - timedelta(hours=2), **more: str) -> StartSheet:
        """A start sheet that may start."""
        typed = {
            "room_temperature_c": "22.4",
            "room_rh_percent": "48",
            "warmed_up_since": (at - timedelta(minutes=45)).isoformat(),
            "block_temperature_c": "25.1",
            **more,
        }
        return perform(FillStartSheet(self.instrument, self.method, **typed), self.by(at))

    def rows(
        self, at: datetime, mgcl2: str = "0.3281", nacl: str = "0.7524", temperature_c: str = "25.0"
    ) -> list[dict[str, Any]]:
        """Readings of both references as typed."""
        return [
            {"bottle": self.mgcl2, "temperature_c": temperature_c, "a_w": mgcl2, "read_at": at.isoformat()},
            {
                "bottle": self.nacl,
                "temperature_c": temperature_c,
                "a_w": nacl,
                "read_at": (at + timedelta(minutes=6)).isoformat(),
            },
        ]

    def check(self, at: datetime = NOW - timedelta(hours=1), kind: str = "opening", **more: str) -> Check:
        """A check whose entry follows its last reading by four minutes."""
        action = RecordCheck(self.instrument, kind, self.method, self.rows(at, **more))
        return perform(action, self.by(at + timedelta(minutes=10)))


def make_day() -> Day:
    """The least that a morning's check needs."""
    site = make.make_site()
    method = make.make_method(site)
    analyst = make.make_person(site, ANALYST, username="ada")
    manager = make.make_person(site, MANAGER, username="mira")
    auditor = make.make_person(site, AUDITOR, username="ines")
    for person in (analyst, manager):
        make.make_competent(person, method)
    instrument = make.make_instrument(site)
    return Day(
        site, analyst, manager, auditor, method, instrument, make.make_bottle(site, "MgCl2"), make.make_bottle(site)
    )


def make_runs(day: Day, check: Check, *lots: str, at: datetime = NOW) -> list[Lot]:
    """Lots with one cup read once on the day's instrument under a check."""
    product = day.site.products.first() or make.make_product(day.method)
    made = []
    for code in lots:
        lot = Lot.objects.create(
            site=day.site, code=code, key=code.casefold(), product=product, specification=product.specification,
            received_at=at, entered_at=at, by=day.analyst,
        )  # fmt: skip
        sample = Sample.objects.create(lot=lot, code="1", position="start", sealed=True, received_at=at, by=day.analyst)
        cup = Portion.objects.create(
            sample=sample, code="A", cover="lidded", covered_at=at, prepared_at=at, done=True, by=day.analyst
        )
        Run.objects.create(
            portion=cup, instrument=day.instrument, method_version=day.method, opening_check=check, a_w="0.631",
            read_at=at, entered_at=at, by=day.analyst,
        )  # fmt: skip
        made.append(lot)
    return made
