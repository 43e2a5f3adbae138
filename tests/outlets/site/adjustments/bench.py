"""A morning that goes wrong: OW-1 reads low, is cleaned, checked with a second lot, and still reads low."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from tests.outlets.site import make

from isohume.outlets.site.adjustments.actions.end_correction import EndCorrection
from isohume.outlets.site.adjustments.actions.record_adjustment import RecordAdjustment
from isohume.outlets.site.adjustments.actions.start_correction import StartCorrection
from isohume.outlets.site.adjustments.models import Correction, InstrumentAdjustment
from isohume.outlets.site.checks.actions.fill_start_sheet import FillStartSheet
from isohume.outlets.site.checks.actions.log_cleaning import LogCleaning
from isohume.outlets.site.checks.actions.record_check import RecordCheck
from isohume.outlets.site.checks.models import Check
from isohume.outlets.site.ledger.actions import By, perform
from isohume.outlets.site.people.models import Person, Site
from isohume.outlets.site.people.proof import prove_by_password
from isohume.outlets.site.people.roles import ANALYST, AUDITOR, MANAGER, RELEASE_OFFICER
from isohume.outlets.site.register.models import Bottle, Instrument, MethodVersion, SolutionLot

NOW = make.NOW  # 09:00 UTC, 10:00 at the plant
BACKEND = "django.contrib.auth.backends.ModelBackend"
TRUE = {"Mg(NO3)2": 0.5290, "NaCl": 0.7530}  # Greenspan 1977 at 25 degC, to 0.0001
LOW = {"Mg(NO3)2": -0.009, "NaCl": -0.012}  # plant A's Wednesday


@dataclass
class Morning:
    """The plant, its people, one instrument, two references and a second lot of one of them."""

    site: Site
    analyst: Person
    manager: Person
    officer: Person
    auditor: Person
    method: MethodVersion
    instrument: Instrument
    nitrate: Bottle
    salt: Bottle
    other_salt: Bottle

    def by(self, at: datetime, person: Person | None = None) -> By:
        """The manager, at a moment."""
        return By(person or self.manager, at)

    def check(
        self, at: datetime, off: dict[str, float] | None = None, salt: Bottle | None = None, kind: str = "opening"
    ) -> Check:
        """A check of both references, off by so much, entered four minutes after its last reading."""
        off = off or {}
        rows = [
            {
                "bottle": bottle,
                "temperature_c": "25.0",
                "a_w": f"{TRUE[name] + off.get(name, 0.0):.4f}",
                "read_at": (at + timedelta(minutes=3 * n)).isoformat(),
            }
            for n, (name, bottle) in enumerate((("Mg(NO3)2", self.nitrate), ("NaCl", salt or self.salt)))
        ]
        action = RecordCheck(self.instrument, kind, self.method, rows)
        return perform(action, By(self.analyst, at + timedelta(minutes=7)))

    def clean(self, at: datetime) -> None:
        """Chamber and rim."""
        perform(LogCleaning(self.instrument, "chamber and rim wiped, dried", at.isoformat()), By(self.analyst, at))

    def fail_carefully(self, at: datetime, off: dict[str, float] | None = None) -> Check:
        """Failed, repeated, cleaned, repeated, read on a second lot, all low: 50 minutes."""
        off = off or LOW
        self.check(at, off)
        self.check(at + timedelta(minutes=10), off)
        self.clean(at + timedelta(minutes=20))
        self.check(at + timedelta(minutes=25), off)
        return self.check(at + timedelta(minutes=40), off, salt=self.other_salt)

    def correct(self, check: Check, at: datetime) -> Correction:
        """The manager signs a correction from a check."""
        proof = prove_by_password(self.manager, make.PASSWORD, at)
        return perform(StartCorrection(check, "No service before Monday", proof), self.by(at))

    def end(self, correction: Correction, at: datetime) -> Correction:
        """The manager ends it."""
        proof = prove_by_password(self.manager, make.PASSWORD, at)
        return perform(EndCorrection(correction, "The sensor was replaced", proof), self.by(at))

    def adjust(self, as_found: Check, at: datetime, **more: Any) -> InstrumentAdjustment:
        """The manager records an adjustment at the meter."""
        given = {"kind": "adjustment", "what": "zero and span", "done_by": "M. Farrow", "reason": "reads low", **more}
        return perform(RecordAdjustment(self.instrument, as_found=as_found, at=at.isoformat(), **given), self.by(at))


def make_morning() -> Morning:
    """Started at seven; nothing was checked yet."""
    site = make.make_site()
    method = make.make_method(site)
    people = [
        make.make_person(site, role, username=name)
        for name, role in (("ada", ANALYST), ("mira", MANAGER), ("oda", RELEASE_OFFICER), ("ines", AUDITOR))
    ]
    for person in people[:2]:
        make.make_competent(person, method)
    instrument = make.make_instrument(site)
    second = SolutionLot.objects.create(
        site=site, code="NaCl-26-07", solution="NaCl", molality="", made_on=NOW.date() - timedelta(days=60),
        expires_on=NOW.date() + timedelta(days=200), made_from="salt of another delivery",
    )  # fmt: skip
    other = Bottle.objects.create(solution_lot=second, code="1", opened_at=NOW - timedelta(days=2))
    nitrate, salt = make.make_bottle(site, "Mg(NO3)2"), make.make_bottle(site)
    found = Morning(site, *people, method, instrument, nitrate, salt, other)
    start = {"room_temperature_c": "22.4", "room_rh_percent": "48", "block_temperature_c": "25.1"}
    at = NOW - timedelta(hours=3)
    warmed = (at - timedelta(minutes=45)).isoformat()
    perform(FillStartSheet(instrument, method, warmed_up_since=warmed, **start), By(found.analyst, at))
    return found
