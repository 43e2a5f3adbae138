"""Keep a comparison of two instruments with its conclusion."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

from isohume.foundation.quantity.errors import InputError
from isohume.outlets.site.comparisons.actions.fields import instrument_of, next_day, small_number
from isohume.outlets.site.comparisons.agreement import Agreement, agreement_of, signed, stated_s_r
from isohume.outlets.site.comparisons.models import InstrumentComparison
from isohume.outlets.site.comparisons.pairs import Pair, as_rows, from_rows, pairs_of_site, pairs_of_table
from isohume.outlets.site.comparisons.tables import TYPED, GivenTable
from isohume.outlets.site.ledger.actions import Action, By, Done
from isohume.outlets.site.ledger.writing import writing
from isohume.outlets.site.people.models import Site
from isohume.outlets.site.people.roles import MANAGER
from isohume.outlets.site.register.actions.fields import needed_words, read_whole
from isohume.outlets.site.register.models import Product


@dataclass
class KeepComparison(Action[InstrumentComparison]):
    """The pairs are frozen with it: those of the plant's own readings, or a table where one is given.

    stand_in: "yes" or "no", what the person concludes; "yes" is refused where the interval does not show it.
    """

    name = "instrument_comparison_kept"
    said = "Kept a comparison of two instruments"
    roles = frozenset({MANAGER})

    at_site: Site
    first: str
    second: str
    product: Product | None
    days: str
    allowed: str
    stand_in: str
    conclusion: str
    next_on: str
    table: GivenTable | None = None
    seen: str = ""
    """How many pairs the page showed; blank where nothing was shown."""

    @property
    def site(self) -> Site:
        """The plant."""
        return self.at_site

    def pairs(self, now: datetime) -> list[Pair]:
        """What was read on both, as it will be kept."""
        if self.table is not None:
            return from_rows(as_rows(pairs_of_table(self.table)))
        first, second = (instrument_of(self.at_site, text, field) for field, text in self._both())
        days = read_whole(self.days, "days", 1, 3660, "days")
        return from_rows(as_rows(pairs_of_site(self.at_site, first, second, now - timedelta(days=days), self.product)))

    @property
    def _source(self) -> str:
        if self.table is None:
            return f"readings of the last {self.days.strip()} days"
        return "typed lines" if self.table.name == TYPED else self.table.own_name

    def _both(self) -> tuple[tuple[str, str], tuple[str, str]]:
        if self.first == self.second:
            raise InputError("second", self.second or "nothing", "another instrument than the first")
        return ("first", self.first), ("second", self.second)

    def change(self, by: By) -> Done[InstrumentComparison]:
        """Freeze pairs, numbers and conclusion."""
        first, second = (instrument_of(self.at_site, text, field) for field, text in self._both())
        allowed = small_number(self.allowed, "allowed")
        pairs = self.pairs(by.at)
        if self.seen and self.seen != str(len(pairs)):
            raise InputError(
                "days", f"{self.seen} pairs", f"readings came in meanwhile ({len(pairs)} pairs): look again"
            )
        s_r = stated_s_r(self.product)
        found = agreement_of(pairs, float(allowed), s_r)
        stand_in = self._concluded(found)
        why = "what follows from it: may stand in, correct it, use one only"
        kept = InstrumentComparison.objects.create(
            site=self.at_site,
            first=first,
            second=second,
            product=self.product,
            source=self._source,
            file_sha256=self.table.sha256 if self.table else "",
            pairs=as_rows(pairs),
            allowed=allowed,
            s_r=s_r,
            stand_in=stand_in,
            outcome=found.answer,
            conclusion=needed_words(self.conclusion, "conclusion", 500, why),
            next_on=next_day(self.next_on, "next_on", self.at_site, by.at),
            at=by.at,
            by=by.person,
        )
        if self.table is not None:
            with writing(by.at) as evidence:
                evidence.keep_file(self.table.own_name, self.table.content)
        about = [first.ref, second.ref, *([self.product.ref] if self.product else [])]
        return Done(kept, kept.ref, about, self._details(kept, found), kept.conclusion)

    def _concluded(self, found: Agreement) -> bool:
        if self.stand_in not in ("yes", "no"):
            raise InputError("stand_in", self.stand_in or "nothing", "yes or no")
        if self.stand_in == "yes" and not found.stand_in:
            raise InputError("stand_in", "yes", f"no: {found.answer.lower()}")
        return self.stand_in == "yes"

    def _details(self, kept: InstrumentComparison, found: Agreement) -> dict[str, object]:
        paired = found.paired
        return {
            "pairs": paired.n,
            "mean difference": signed(paired.mean),
            "interval": [signed(paired.low), signed(paired.high)],
            "limits of agreement": [signed(paired.agreement_low), signed(paired.agreement_high)],
            "allowed": kept.allowed,
            "stand in": self.stand_in,
            "sha256": kept.file_sha256,
        }
