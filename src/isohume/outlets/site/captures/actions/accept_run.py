"""Accept a captured run: it becomes a run of its cup, with the value that the method's own criterion names."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field

from isohume.outlets.site.bench.actions.record_run import OfTrace, Recorded, RecordRun
from isohume.outlets.site.captures.actions.one_row import give_way
from isohume.outlets.site.captures.actions.states import refuse_fate, refuse_running
from isohume.outlets.site.captures.judged import Judged, judged_of, method_of
from isohume.outlets.site.captures.models import CapturedRun
from isohume.outlets.site.captures.retests import unanswered_before
from isohume.outlets.site.captures.value import DOUBTFUL, Value, reasons_against, value_of
from isohume.outlets.site.ledger.actions import Action, By, Done, Refused, perform
from isohume.outlets.site.people.models import Site
from isohume.outlets.site.people.roles import BENCH, MANAGER


@dataclass
class AcceptRun(Action[Recorded]):
    """Nobody types the number, and nobody chooses it: settled, it is the reading at which the criterion was met.

    sample_temperature_c, block_temperature_c: where the instrument gave none; what it gave is never replaced.
    override_reason: why a warm or cold sample was read all the same, or why a manager takes a doubtful trace.
    """

    name = "captured_run_accepted"
    said = "Accepted a captured run"
    roles = BENCH

    run: CapturedRun
    sample_temperature_c: str = ""
    block_temperature_c: str = ""
    override_reason: str = ""
    reason: str = ""  # why a lot that is released or rejected takes another run
    _judged: Judged | None = field(default=None, init=False, repr=False)

    @property
    def site(self) -> Site:
        """The run's plant."""
        return self.run.site

    def refusals(self, by: By) -> Iterable[str]:
        """An ended run of a cup, whose trace can be believed."""
        reasons = [*refuse_fate(self.run), *refuse_running(self.run)]
        if self.run.bottle is not None:
            reasons.append("It is of a reference solution: record a check from it.")
        elif self.run.portion is None:
            reasons.append("Nobody has said whose it is: assign it to its cup or bottle first.")
        elif before := unanswered_before(self.run):
            reasons.append(f"It was read after {', '.join(before)}, which waits: accept or void what was read first.")
        if reasons:
            return reasons
        self._judged = judged_of(self.run)
        doubted = bool(self.override_reason.strip()) and by.person.holds(MANAGER)
        return reasons_against(self._judged, manager_s_reason=doubted)

    def change(self, by: By) -> Done[Recorded]:
        """Record it; gate, competence and guard are asked at the moment of the reading."""
        run, judged = self.run, self._judged
        assert judged is not None, "refusals are asked first"
        assert run.portion is not None, "refusals are asked first"
        value = value_of(run, judged)
        if value is None:
            raise Refused("There is no value in this trace.")
        typed = give_way(run, f"This read is {run.named}, whose trace is on record: one read is one row.", by)
        recorded = perform(self._record(value), by)
        run.fate, run.run = "accepted", recorded.run
        run.save(update_fields=["fate", "run"])
        finding = judged.found.finding if judged.found else None
        details = {
            "a_w": value.a_w,
            "stopped": value.stopped,
            "u_estimate": value.u_estimate,
            "criterion": judged.criterion.words,
            "diagnosis": finding.diagnosis if finding else "",
            "trace": run.trace_sha256,
        }
        details |= typed.details
        about = [recorded.run.ref, run.portion.ref, run.portion.sample.lot.ref, run.instrument.ref, *typed.about]
        why = self.override_reason.strip() if finding and finding.diagnosis in DOUBTFUL else self.reason.strip()
        return Done(recorded, run.ref, about, {name: said for name, said in details.items() if said}, why)

    def _record(self, value: Value) -> RecordRun:
        run = self.run
        assert run.portion is not None, "refusals are asked first"
        return RecordRun(
            run.portion,
            run.instrument,
            value.a_w,
            sample_temperature_c=value.sample_temperature_c or self.sample_temperature_c,
            block_temperature_c=value.block_temperature_c or self.block_temperature_c,
            read_at=value.read_at,
            override_reason=self.override_reason,
            instrument_number=run.number,
            reason=self.reason,
            of_trace=OfTrace(run.trace_sha256, value.stopped, value.u_estimate),
            version=method_of(run),
        )
