"""Record a run: one attempt on one instrument, typed or imported, with everything that is to be said of it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import asdict, dataclass, field
from datetime import datetime
from functools import cached_property

from django.db.models import QuerySet

from isohume.foundation.quantity.errors import InputError
from isohume.foundation.quantity.typed import read_words
from isohume.outlets.site.bench.actions.decided import refuse_decided
from isohume.outlets.site.bench.guard import Guarded
from isohume.outlets.site.bench.history import Known, plausibility
from isohume.outlets.site.bench.limits import asks_temperature, over_clock
from isohume.outlets.site.bench.masks import a_w_typed, reading_temperature_typed
from isohume.outlets.site.bench.models import ImportedFile, Lot, Portion, Run
from isohume.outlets.site.bench.moments import before_minute, event_time, plant_day, shown_at
from isohume.outlets.site.bench.once import saved_before
from isohume.outlets.site.bench.rereads import read_in_words
from isohume.outlets.site.captures.same_read import captured_already
from isohume.outlets.site.checks.queries import Gate, gate
from isohume.outlets.site.ledger.actions import Action, By, Done, Refused
from isohume.outlets.site.people.competence import reasons_against
from isohume.outlets.site.people.models import Site
from isohume.outlets.site.people.roles import BENCH
from isohume.outlets.site.register.models import Instrument, MethodVersion


@dataclass(frozen=True, slots=True)
class Recorded:
    """A run as kept, which read of its cup it is, and what is to be said of it; its hint is `run.plausibility`."""

    run: Run
    read: str
    warnings: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class OfTrace:
    """What a run has of its trace where it was captured: the evidence's digest, how it stopped, an estimate's u."""

    trace_sha256: str
    stopped: str
    u_estimate: str = ""


@dataclass
class RecordRun(Action[Recorded]):
    """The standing gate, competence and the warm-sample guard are asked at the time of the reading.

    A row that comes twice with one mark is one run: the second time that run is the answer, and nothing is kept.
    """

    name = "run_recorded"
    said = "Recorded a run"
    roles = BENCH

    portion: Portion
    instrument: Instrument
    a_w: str
    sample_temperature_c: str = ""
    block_temperature_c: str = ""
    read_at: str | datetime = ""
    override_reason: str = ""  # why a warm or cold sample was read all the same
    instrument_number: str = ""  # the instrument's own number of the run
    reason: str = ""  # why a lot that is released or rejected takes another run
    imported: ImportedFile | None = None
    row: int | None = None
    mark: str = ""  # of the grid's row, so that a row sent twice makes one run
    known: Known | None = None  # the plant's history, where several runs are recorded at once
    of_trace: OfTrace | None = None  # where it was captured: nobody typed its number
    version: MethodVersion | None = None  # by which its trace was judged, where it was captured
    _gate: Gate | None = field(default=None, init=False, repr=False)
    _before: Recorded | None = field(default=None, init=False, repr=False)

    @property
    def site(self) -> Site:
        """The plant of the lot."""
        return self.lot.site

    @property
    def lot(self) -> Lot:
        """The lot the portion belongs to."""
        return self.portion.sample.lot

    @cached_property
    def method(self) -> MethodVersion:
        """The version that its trace was judged by, else the method's version in force."""
        version = self.version or self.lot.product.method.current
        if version is None:
            raise Refused(f"{self.lot.product.method.name} has no version: nothing says how to measure.")
        return version

    def refusals(self, by: By) -> Iterable[str]:
        """Instrument, person, cup and lot must all be fit for it at the time of the reading."""
        if self.instrument.site_id != self.lot.site_id:
            return ["This instrument belongs to another plant."]
        if before := saved_before(self.portion, self.mark):
            self._before = Recorded(*before, ())
            return []
        at = event_time(self.read_at, "read_at", self.site, by.at)
        reasons = list(refuse_decided(self.lot, self.reason, "another run"))
        self.portion.refresh_from_db(fields=("discarded_reason",))
        if self.portion.discarded_reason:
            reasons.append(f"Cup {self.portion.code} was discarded: {self.portion.discarded_reason.rstrip('.')}.")
        if self.of_trace is None:
            reasons += captured_already(self.portion, self.instrument, at, self.instrument_number.strip())
        reasons += reasons_against(by.person, self.lot.product.method, plant_day(at, self.site))
        self._gate = gate(self.instrument, at, self.lot.specification)
        return [*reasons, *instrument_refusals(self.instrument, self._gate)]

    def change(self, by: By) -> Done[Recorded]:
        """Keep it. A slow cup, a strange value, a missing temperature are said, never hidden."""
        if self._before is not None:
            return Done(self._before, self._before.run.ref, before=True)
        notes: list[str] = []
        a_w = a_w_typed(self.a_w, notes=notes)
        at = self._read_at(by)
        guarded = self._guarded(notes)
        refuse_warm(guarded, a_w)
        number = self._number()
        method, read = guarded.method, read_in_words(self.portion)
        warnings = [*notes, *guarded.words(a_w)]
        if slow := over_clock(self.portion, method, at):
            warnings.append(slow)
        run = Run.objects.create(
            portion=self.portion,
            instrument=self.instrument,
            method_version=method,
            opening_check=self._gate.check if self._gate else None,
            instrument_number=number,
            a_w=a_w,
            sample_temperature_c=guarded.sample_temperature_c,
            block_temperature_c=guarded.block_temperature_c,
            read_at=at,
            override_reason=guarded.override_reason,
            imported=self.imported,
            imported_row=self.row,
            plausibility=plausibility(self.portion.sample, a_w, self.known),
            entered_at=by.at,
            by=by.person,
            **(asdict(self.of_trace) if self.of_trace else {}),
        )
        self.portion.done = True
        self.portion.save(update_fields=["done"])
        return self._done(Recorded(run, read, tuple(warnings)))

    def _done(self, kept: Recorded) -> Done[Recorded]:
        run, portion = kept.run, self.portion
        about = [portion.ref, portion.sample.ref, self.lot.ref, self.instrument.ref]
        details = {
            "a_w": run.a_w,
            "sample_temperature_c": run.sample_temperature_c,
            "block_temperature_c": run.block_temperature_c,
            "read_at": run.read_at.isoformat(),
            "override_reason": run.override_reason,
            "instrument_number": run.instrument_number,
            "opening_check": run.opening_check.ref,
            "read": kept.read,
            "row": self.row,
            "mark": self.mark,
            "run": str(run.pk) if self.mark else "",
            "trace": run.trace_sha256,
            "stopped": run.stopped,
            "u_estimate": run.u_estimate,
        }
        if self.imported is not None:
            about.append(self.imported.ref)
        return Done(kept, run.ref, about, {key: value for key, value in details.items() if value}, self.reason.strip())

    def _read_at(self, by: By) -> datetime:
        at = event_time(self.read_at, "read_at", self.site, by.at)
        prepared = self.portion.prepared_at
        if before_minute(at, prepared):
            allowed = f"a time after the cup was prepared ({shown_at(prepared, self.site)})"
            raise InputError("read_at", shown_at(at, self.site), allowed)
        there = Run.objects.filter(portion=self.portion, instrument=self.instrument, read_at=at, corrects=None)
        same = self._not_this_read(there).first()
        if same is not None:
            allowed = f"a run that is not on record yet: run {same.pk} is of this cup at this time"
            raise InputError("read_at", shown_at(at, self.site), allowed)
        return at

    def _guarded(self, notes: list[str]) -> Guarded:
        sample = reading_temperature_typed(self.sample_temperature_c, "sample_temperature_c", notes)
        if not sample and asks_temperature(self.method):
            limit = f"the method judges it by its mismatch limit of {self.method.mismatch_limit_c} degC"
            raise InputError("sample_temperature_c", "nothing", f"the sample's temperature: {limit}")
        return Guarded(
            self.lot.specification,
            self.method,
            self.instrument,
            sample,
            reading_temperature_typed(self.block_temperature_c, "block_temperature_c", notes),
            self._override(),
        )

    def _override(self) -> str:
        """A reason is words: a number in its field is the next cup's, gone astray."""
        reason = read_words(self.override_reason, "override_reason", 1000)
        if reason and not any(character.isalpha() for character in reason):
            raise InputError("override_reason", reason, "words that say why it was read all the same, or nothing")
        return reason

    def _number(self) -> str:
        number = read_words(self.instrument_number, "instrument_number", 40)
        if number:
            known = Run.objects.filter(instrument=self.instrument, instrument_number=number, corrects=None)
            known = self._not_this_read(known).select_related("portion__sample__lot")
            named = ", ".join(f"run {run.pk} of {run.portion}" for run in known)
            if named:
                raise InputError("instrument_number", number, f"a number {self.instrument} has not given yet: {named}")
        return number

    def _not_this_read(self, runs: QuerySet[Run]) -> QuerySet[Run]:
        """Without what was typed of the very read that was captured: it gave way to its trace."""
        return runs if self.of_trace is None else runs.exclude(portion=self.portion, trace_sha256="")


def refuse_warm(guarded: Guarded, a_w: str) -> None:
    """A sample too warm or too cold is not read; a reason may allow it, never where water would condense."""
    warm = guarded.warm(a_w)
    if warm is not None and not warm.may_read:
        raise Refused(*warm.reasons)


def instrument_refusals(instrument: Instrument, found: Gate) -> list[str]:
    """Why an instrument may not speak: out of use, or not let by the gate."""
    if not instrument.in_use:
        why = f": {instrument.out_of_use_reason.rstrip('.')}." if instrument.out_of_use_reason else "."
        return [f"{instrument.name} is out of use{why}"]
    return [] if found.allowed else list(found.reasons)
