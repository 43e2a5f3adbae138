"""Add a lot of a reference solution: saturated, or prepared to a molality."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from isohume.foundation.quantity.errors import InputError
from isohume.foundation.quantity.rounding import round_together
from isohume.foundation.quantity.typed import read_decimal, read_words
from isohume.foundation.solutions import ReferenceValue, reference_value
from isohume.outlets.site.ledger.actions import Action, By, Done
from isohume.outlets.site.people.models import Person, Site
from isohume.outlets.site.people.roles import MANAGER
from isohume.outlets.site.register.actions.fields import needed_code, read_date, read_past_date, refuse_taken
from isohume.outlets.site.register.models import SolutionLot

SHOWN_AT_C = 25.0


@dataclass
class AddSolutionLot(Action[SolutionLot]):
    """Only a solution whose value is known; where it should read is said with its uncertainty at 25 degC."""

    name = "solution_lot_added"
    said = "Added a reference lot"
    roles = frozenset({MANAGER})

    at_site: Site
    code: str
    solution: str
    made_on: str
    expires_on: str
    molality: str = ""
    made_from: str = ""
    certificate: str = ""
    made_by: Person | None = None

    @property
    def site(self) -> Site:
        """The plant that owns it."""
        return self.at_site

    def refusals(self, by: By) -> list[str]:
        """Who made it works here."""
        if self.made_by is not None and self.made_by.site_id != self.at_site.pk:
            return ["The person who made it belongs to another plant."]
        return []

    def change(self, by: By) -> Done[SolutionLot]:
        """The solution's name is kept as its key, so that one salt is one solution."""
        code = needed_code(self.code, "code", 60, "the lot's code, as on the bottle")
        refuse_taken(SolutionLot.objects.filter(site=self.at_site), "code", code, "code", "in this plant")
        value, molality = self._value()
        made_on, expires_on = self._days(by)
        lot = SolutionLot.objects.create(
            site=self.at_site,
            code=code,
            solution=value.solution,
            molality=molality,
            made_on=made_on,
            made_by=self.made_by,
            made_from=read_words(self.made_from, "made_from", 300),
            certificate=read_words(self.certificate, "certificate", 200),
            expires_on=expires_on,
        )
        shown, shown_u = round_together(value.a_w, value.u)
        details = {
            "code": code,
            "solution": [self.solution, value.solution],
            "molality": self.molality,
            "made_on": self.made_on,
            "expires_on": self.expires_on,
            "made_from": lot.made_from,
            "certificate": lot.certificate,
            "a_w at 25 degC": f"{shown} (u {shown_u})" if shown_u else shown,
        }
        return Done(lot, lot.ref, [self.made_by.ref] if self.made_by else [], details)

    def _value(self) -> tuple[ReferenceValue, str]:
        """What it should read at 25 degC, and the molality as kept; blank is saturated."""
        if not self.molality.strip():
            return reference_value(self.solution, SHOWN_AT_C), ""
        allowed = "a molality in mol/kg, above 0; blank for a saturated solution with crystals"
        molality = read_decimal(self.molality, "molality", allowed)
        if not molality > 0:
            raise InputError("molality", self.molality, allowed)
        return reference_value(self.solution, SHOWN_AT_C, float(molality)), f"{molality:f}"

    def _days(self, by: By) -> tuple[date, date]:
        made_on = read_past_date(self.made_on, "made_on", self.at_site, by.at)
        expires_on = read_date(self.expires_on, "expires_on")
        if expires_on <= made_on:
            raise InputError("expires_on", self.expires_on, f"a day after it was made ({made_on.isoformat()})")
        return made_on, expires_on
