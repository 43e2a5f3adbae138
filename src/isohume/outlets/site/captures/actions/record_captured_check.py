"""Record a check from captured runs of bottles: the readings are the traces' own, and nobody types them."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import timedelta

from isohume.foundation.quantity.errors import InputError
from isohume.outlets.site.captures.actions.states import refuse_fate, refuse_running
from isohume.outlets.site.captures.judged import judged_of
from isohume.outlets.site.captures.models import CapturedRun
from isohume.outlets.site.captures.same_read import SeenAt
from isohume.outlets.site.captures.value import Value, value_of
from isohume.outlets.site.checks.actions.record_check import RecordCheck
from isohume.outlets.site.checks.models import Check
from isohume.outlets.site.ledger.actions import Action, By, Done, perform
from isohume.outlets.site.people.models import Site
from isohume.outlets.site.people.roles import BENCH
from isohume.outlets.site.register.models import Instrument, MethodVersion

SINCE = timedelta(hours=12)
"""A reference that was read so shortly before and was left waiting is a reading of this check (no source)."""


@dataclass
class RecordCapturedCheck(Action[Check]):
    """Every run must have settled by the method's criterion: an instrument is not judged by an estimate.

    temperatures: by the run's key, where the instrument gave none. No run of a bottle that waits, of the hours before
    and until the last one, may be left out: the check would choose its readings. Nor may a run of which nobody has
    said what it was: it may have been a reference.
    """

    name = "captured_check_recorded"
    said = "Recorded a check from captured runs"
    roles = BENCH

    instrument: Instrument
    kind: str
    method_version: MethodVersion
    runs: Sequence[CapturedRun]
    temperatures: Mapping[int, str] = field(default_factory=dict)
    note: str = ""
    _values: list[Value] = field(default_factory=list, init=False, repr=False)

    @property
    def site(self) -> Site:
        """The instrument's plant."""
        return self.instrument.site

    def refusals(self, by: By) -> Iterable[str]:
        """Waiting, ended, settled runs of bottles on this instrument, none passed over."""
        if not self.runs:
            raise InputError("runs", "nothing", "at least one captured run of a bottle")
        keys = [run.pk for run in self.runs]
        if twice := next((run for run in self.runs if keys.count(run.pk) > 1), None):
            raise InputError("runs", f"{twice.named} twice", "each run once: a reading is no replicate of itself")
        self.runs = sorted(self.runs, key=lambda run: (run.started_at, run.pk))
        for run in self.runs:
            for reason in [*refuse_fate(run), *refuse_running(run), *self._against(run)]:
                yield f"{run.named.capitalize()}: {reason}"
        for run in self._passed_over():
            yield _answer(run)

    def _against(self, run: CapturedRun) -> Iterable[str]:
        if run.instrument_id != self.instrument.pk:
            yield f"It was read on {run.instrument}."
        elif run.bottle is None:
            yield "It is not of a bottle."
        elif run.ended_at is not None:
            judged = judged_of(run, self.method_version)
            if judged.settled_position is None:
                said = judged.found.finding if judged.found else None
                yield "It did not settle." if said is None else f"It did not settle: {said.diagnosis}. {said.action}"

    def _passed_over(self) -> Iterable[CapturedRun]:
        since, until = self.runs[0].started_at - SINCE, self.runs[-1].started_at
        waiting = CapturedRun.objects.filter(instrument=self.instrument, fate="waiting", portion=None, readings__gt=0)
        between = waiting.filter(started_at__range=(since, until))
        others = between.exclude(pk__in=[run.pk for run in self.runs])
        return others.select_related("bottle__solution_lot").order_by("started_at", "pk")

    def change(self, by: By) -> Done[Check]:
        """The check as it was read; the runs are its readings from now on."""
        readings = [self._reading(n, run) for n, run in enumerate(self.runs, 1)]
        check = perform(RecordCheck(self.instrument, self.kind, self.method_version, readings, self.note), by)
        for run in self.runs:
            run.fate, run.check_made = "checked", check
        CapturedRun.objects.bulk_update(self.runs, ["fate", "check_made"])
        about = [run.ref for run in self.runs]
        traces = [f"{run.named}: {run.trace_sha256}" for run in self.runs]
        return Done(check, check.ref, [*about, self.instrument.ref], {"traces": "; ".join(traces)})

    def _reading(self, n: int, run: CapturedRun) -> dict[str, object]:
        value = value_of(run, judged_of(run, self.method_version))
        assert value is not None, "refusals are asked first"
        temperature = value.sample_temperature_c or self.temperatures.get(run.pk, "")
        if not temperature.strip():
            allowed = f"the temperature of {run.of_words}: the instrument gave none"
            raise InputError(f"temperature_c_{n}", "nothing", allowed)
        return {"bottle": run.bottle, "temperature_c": temperature, "a_w": value.a_w, "read_at": value.read_at}


def _answer(run: CapturedRun) -> str:
    """What is to be done first with a run that the check would pass over."""
    if run.bottle is not None:
        words = f"{run.named.capitalize()} of {run.of_words} was read before or among them: take it too, or void it."
    else:
        words = (
            f"Nobody has said what {run.named} was, which was read before or among them: it may have been a reference. "
            "Say what it was, or a manager voids it."
        )
    return SeenAt.of(words, run)
