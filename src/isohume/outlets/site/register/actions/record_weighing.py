"""Record the weighing behind a reference lot, with the balance's own check: the balance record."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from isohume.bench.reading.companions import CompanionCheck, balance_check
from isohume.foundation.quantity.errors import InputError
from isohume.foundation.quantity.typed import read_decimal, read_words
from isohume.outlets.site.bench.moments import event_time
from isohume.outlets.site.ledger.actions import Action, By, Done
from isohume.outlets.site.people.models import Person, Site
from isohume.outlets.site.people.roles import BENCH
from isohume.outlets.site.register.actions.fields import needed_words
from isohume.outlets.site.register.models import BalanceRecord, SolutionLot

MOST_G = Decimal(100_000)


@dataclass
class RecordWeighing(Action[BalanceRecord]):
    """A failed balance check is kept, and the lot may not be used: what was weighed is not known."""

    name = "weighing_recorded"
    said = "Recorded a weighing"
    roles = BENCH

    solution_lot: SolutionLot
    balance: str
    salt_g: str
    water_g: str
    check_nominal_g: str
    check_read_g: str
    check_limit_g: str
    purity: str = ""
    weighed_at: str = ""
    weighed_by: Person | None = None  # None: who records it

    @property
    def site(self) -> Site:
        """The plant of the lot."""
        return self.solution_lot.site

    def refusals(self, by: By) -> list[str]:
        """Who weighed works here."""
        if self.weighed_by is not None and self.weighed_by.site_id != self.site.pk:
            return ["The person who weighed belongs to another plant."]
        return []

    def change(self, by: By) -> Done[BalanceRecord]:
        """Grams are kept as typed."""
        salt, water = self._grams("salt_g"), self._grams("water_g")
        check, (nominal, read, limit) = self._check()
        kept = BalanceRecord.objects.create(
            solution_lot=self.solution_lot,
            balance=needed_words(self.balance, "balance", 60, "which balance it was"),
            salt_g=f"{salt:f}",
            water_g=f"{water:f}",
            purity=read_words(self.purity, "purity", 60),
            check_nominal_g=f"{nominal:f}",
            check_read_g=f"{read:f}",
            check_limit_g=f"{limit:f}",
            check_passed=check.passed,
            weighed_at=event_time(self.weighed_at, "weighed_at", self.site, by.at),
            weighed_by=self.weighed_by or by.person,
        )
        details = {
            "balance": kept.balance,
            "salt_g": self.salt_g,
            "water_g": self.water_g,
            "purity": kept.purity,
            "balance check": check.text,
            "verdict": "pass" if check.passed else "fail: the lot may not be used",
        }
        return Done(kept, kept.ref, [self.solution_lot.ref, kept.weighed_by.ref], details)

    def _grams(self, field: str) -> Decimal:
        allowed = f"grams, above 0 and at most {MOST_G}"
        found = read_decimal(getattr(self, field), field, allowed)
        if not 0 < found <= MOST_G:
            raise InputError(field, getattr(self, field), allowed)
        return found

    def _check(self) -> tuple[CompanionCheck, tuple[Decimal, Decimal, Decimal]]:
        """The balance's own check and its three weights; the judge knows its fields without our word before them."""
        nominal = read_decimal(self.check_nominal_g, "check_nominal_g", "grams")
        read = read_decimal(self.check_read_g, "check_read_g", "grams")
        limit = read_decimal(self.check_limit_g, "check_limit_g", "grams")
        try:
            return balance_check(nominal, read, limit), (nominal, read, limit)
        except InputError as error:
            error.field = f"check_{error.field}"
            raise error.at() from None
