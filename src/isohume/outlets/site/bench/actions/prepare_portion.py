"""Prepare a portion: one cup of a sample, its clock started."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from isohume.foundation.quantity.errors import InputError
from isohume.foundation.quantity.typed import read_words
from isohume.outlets.site.bench.actions.decided import refuse_decided
from isohume.outlets.site.bench.codes import next_letter, read_code
from isohume.outlets.site.bench.masks import cover_typed, temperature_typed
from isohume.outlets.site.bench.models import Portion, Sample
from isohume.outlets.site.bench.moments import before_minute, event_time, shown_at
from isohume.outlets.site.ledger.actions import Action, By, Done
from isohume.outlets.site.people.models import Site
from isohume.outlets.site.people.roles import BENCH


@dataclass
class PreparePortion(Action[Portion]):
    """One cup more; A, B, C and so on where no code is given."""

    name = "portion_prepared"
    said = "Prepared a portion"
    roles = BENCH

    sample: Sample
    code: str = ""
    cover: str = "lidded"
    temperature_c: str = ""
    prepared_at: str | datetime = ""
    reason: str = ""  # why a lot that is released or rejected takes another portion

    @property
    def site(self) -> Site:
        """The plant of the lot."""
        return self.sample.lot.site

    def refusals(self, by: By) -> Iterable[str]:
        """A decided lot takes no portion without a reason."""
        return refuse_decided(self.sample.lot, self.reason, "another portion")

    def change(self, by: By) -> Done[Portion]:
        """Fill the cup; its clock runs from now."""
        at = event_time(self.prepared_at, "prepared_at", self.site, by.at)
        if before_minute(at, self.sample.received_at):
            received = shown_at(self.sample.received_at, self.site)
            raise InputError("prepared_at", shown_at(at, self.site), f"a time after the sample came ({received})")
        cover, temperature = cover_typed(self.cover), temperature_typed(self.temperature_c)
        portion = Portion.objects.create(
            sample=self.sample,
            code=self._free_code(),
            cover=cover,
            covered_at=at,
            prepared_at=at,
            temperature_c=temperature,
            temperature_at=at if temperature else None,
            by=by.person,
        )
        details = {"code": portion.code, "cover": cover, "prepared_at": at.isoformat()}
        if temperature:
            details["temperature_c"] = temperature
        reason = read_words(self.reason, "reason", 1000)
        return Done(portion, portion.ref, [self.sample.ref, self.sample.lot.ref], details, reason)

    def _free_code(self) -> str:
        taken = list(self.sample.portions.values_list("code", flat=True))
        if not self.code.strip():
            return next_letter(taken)
        code = read_code(self.code, "code", 20)
        if code.casefold() in {other.casefold() for other in taken}:
            raise InputError("code", code, f"a code that no cup of sample {self.sample.code} has yet")
        return code
