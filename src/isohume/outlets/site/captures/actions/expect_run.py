"""Say that the next run of an instrument is of this cup, or of this bottle: what is called Start run on the page."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from isohume.foundation.quantity.errors import InputError
from isohume.foundation.quantity.typed import read_words
from isohume.outlets.site.bench.actions.decided import refuse_decided
from isohume.outlets.site.bench.actions.record_run import instrument_refusals
from isohume.outlets.site.bench.guard import Guarded
from isohume.outlets.site.bench.models import Portion
from isohume.outlets.site.bench.moments import plant_day
from isohume.outlets.site.captures.models import Expected, InstrumentState
from isohume.outlets.site.captures.queries import open_expected
from isohume.outlets.site.checks.bottles import reasons_at
from isohume.outlets.site.checks.queries import gate
from isohume.outlets.site.ledger.actions import Action, By, Done, Refused
from isohume.outlets.site.people.competence import reasons_against
from isohume.outlets.site.people.models import Site
from isohume.outlets.site.people.roles import BENCH
from isohume.outlets.site.register.models import Bottle, Instrument


@dataclass
class ExpectRun(Action[Expected]):
    """Gate, competence and the warm-sample guard are asked now, before the cup goes in.

    What was expected of the instrument before and did not come is dropped: only one thing can be next.
    """

    name = "run_expected"
    said = "Said what the next run is"
    roles = BENCH

    instrument: Instrument
    portion: Portion | None = None
    bottle: Bottle | None = None
    override_reason: str = ""  # why a warm or cold sample is read all the same
    reason: str = ""  # why a lot that is released or rejected takes another run

    @property
    def site(self) -> Site:
        """The instrument's plant."""
        return self.instrument.site

    def refusals(self, by: By) -> Iterable[str]:
        """Instrument, person, cup or bottle must be fit for it now."""
        if (self.portion is None) == (self.bottle is None):
            raise InputError("of", "nothing", "a cup or a bottle: scan it, or pick it")
        return self._against_portion(self.portion, by) if self.portion else self._against_bottle(by)

    def _against_portion(self, portion: Portion, by: By) -> Iterable[str]:
        lot = portion.sample.lot
        if lot.site_id != self.instrument.site_id:
            return ["This cup belongs to another plant."]
        portion.refresh_from_db(fields=("discarded_reason", "temperature_c", "temperature_at"))
        reasons = list(refuse_decided(lot, self.reason, "another run"))
        if portion.discarded_reason:
            reasons.append(f"Cup {portion.code} was discarded: {portion.discarded_reason.rstrip('.')}.")
        reasons += reasons_against(by.person, lot.product.method, plant_day(by.at, self.site))
        found = gate(self.instrument, by.at, lot.specification)
        return [*reasons, *instrument_refusals(self.instrument, found), *self._against_warm(portion)]

    def _against_warm(self, portion: Portion) -> list[str]:
        """By the temperature last taken of the cup and what the block said of itself."""
        method = portion.sample.lot.product.method.current
        if method is None:
            return [f"{portion.sample.lot.product.method.name} has no version: nothing says how to measure."]
        block = InstrumentState.objects.filter(instrument=self.instrument).values_list("block_temperature_c", flat=True)
        guarded = Guarded(
            portion.sample.lot.specification,
            method,
            self.instrument,
            portion.temperature_c,
            block.first() or "",
            read_words(self.override_reason, "override_reason", 1000),
        )
        warm = guarded.warm()
        return [] if warm is None or warm.may_read else list(warm.reasons)

    def _against_bottle(self, by: By) -> Iterable[str]:
        assert self.bottle is not None, "a cup or a bottle"
        if self.bottle.solution_lot.site_id != self.instrument.site_id:
            return ["This bottle belongs to another plant."]
        out = [] if self.instrument.in_use else [f"{self.instrument.name} is out of use."]
        return [*out, *reasons_at(self.bottle, by.at)]

    def change(self, by: By) -> Done[Expected]:
        """Keep it open until a run begins on the instrument."""
        before = list(open_expected(self.instrument, by.at))
        if before and (before[0].portion_id, before[0].bottle_id) == self._keys and before[0].by_id == by.person.pk:
            raise Refused(f"{before[0].of_words} is next on {self.instrument} already: start the run there.")
        Expected.objects.filter(instrument=self.instrument, taken=None, dropped_at=None).update(dropped_at=by.at)
        expected = Expected.objects.create(
            instrument=self.instrument, portion=self.portion, bottle=self.bottle, at=by.at, by=by.person
        )
        details = {"of": expected.of_words, "instead_of": before[0].of_words if before else ""}
        if self.override_reason.strip():
            details["override_reason"] = self.override_reason.strip()
        return Done(expected, expected.ref, self._about, {k: v for k, v in details.items() if v}, self.reason.strip())

    @property
    def _keys(self) -> tuple[int | None, int | None]:
        return (self.portion.pk if self.portion else None, self.bottle.pk if self.bottle else None)

    @property
    def _about(self) -> list[str]:
        if self.portion is None:
            assert self.bottle is not None, "a cup or a bottle"
            return [self.bottle.ref, self.instrument.ref]
        return [self.portion.ref, self.portion.sample.ref, self.portion.sample.lot.ref, self.instrument.ref]
