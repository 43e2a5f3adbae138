"""Correct a slip of the pen in a run: another row with the right number, the original beside it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from isohume.foundation.quantity.errors import InputError
from isohume.foundation.quantity.typed import read_words
from isohume.outlets.site.bench.actions.decided import corrected_now, decided_now
from isohume.outlets.site.bench.actions.record_run import refuse_warm
from isohume.outlets.site.bench.guard import Guarded
from isohume.outlets.site.bench.history import plausibility
from isohume.outlets.site.bench.masks import a_w_typed, reading_temperature_typed
from isohume.outlets.site.bench.models import Run
from isohume.outlets.site.ledger.actions import Action, By, Done
from isohume.outlets.site.people.models import Site
from isohume.outlets.site.people.roles import BENCH

FIELDS = ("a_w", "sample_temperature_c", "block_temperature_c")


@dataclass
class CorrectRun(Action[Run]):
    """What was typed wrongly, put right with a reason; a blank field stays as it was."""

    name = "run_corrected"
    said = "Corrected a run"
    roles = BENCH

    run: Run
    a_w: str = ""
    sample_temperature_c: str = ""
    block_temperature_c: str = ""
    reason: str = ""

    @property
    def site(self) -> Site:
        """The plant of the lot."""
        return self.run.portion.sample.lot.site

    def refusals(self, by: By) -> Iterable[str]:
        """Only a run that counts, of a lot that is not decided; an imported number cannot be a slip of the pen."""
        run, lot = self.run, self.run.portion.sample.lot
        correction, decided = corrected_now(run), decided_now(lot)
        if run.void_reason:
            yield f"Run {run.pk} is void: {run.void_reason.rstrip('.')}."
        if correction is not None:
            yield f"Run {run.pk} was corrected before: correct run {correction.pk}."
        if decided:
            yield f"Lot {lot.code} is {lot.state}: its runs stay as they were decided on."
        if not run.typed and self.a_w.strip() and self.a_w.strip() != run.a_w:
            came = f"imported from {run.imported.name}" if run.imported else "captured from the instrument"
            yield f"Run {run.pk} was {came}: its number was not typed; void it with a cause."

    def change(self, by: By) -> Done[Run]:
        """Make the corrected run; it is keyed a second time like any typed one."""
        run, right = self.run, self._right()
        reason = read_words(self.reason, "reason", 300)
        if not reason:
            raise InputError("reason", "nothing", "what the slip was, such as digits swapped against the print-out")
        changed = {name: [getattr(run, name), right[name]] for name in FIELDS if right[name] != getattr(run, name)}
        if not changed:
            raise InputError("a_w", right["a_w"], "something that differs from what is on record")
        guarded = Guarded(
            run.portion.sample.lot.specification,
            run.method_version,
            run.instrument,
            right["sample_temperature_c"],
            right["block_temperature_c"],
            run.override_reason,
        )
        refuse_warm(guarded, right["a_w"])
        corrected = self._row(right, reason, by)
        portion = run.portion
        about = [run.ref, portion.ref, portion.sample.ref, portion.sample.lot.ref, run.instrument.ref]
        return Done(corrected, corrected.ref, about, {**changed, "corrects": run.ref}, reason)

    def _right(self) -> dict[str, str]:
        run = self.run
        return {
            "a_w": a_w_typed(self.a_w) if self.a_w.strip() else run.a_w,
            "sample_temperature_c": reading_temperature_typed(self.sample_temperature_c, "sample_temperature_c")
            or run.sample_temperature_c,
            "block_temperature_c": reading_temperature_typed(self.block_temperature_c, "block_temperature_c")
            or run.block_temperature_c,
        }

    def _row(self, right: dict[str, str], reason: str, by: By) -> Run:
        run = self.run
        return Run.objects.create(
            portion=run.portion,
            instrument=run.instrument,
            method_version=run.method_version,
            opening_check=run.opening_check,
            instrument_number=run.instrument_number,
            read_at=run.read_at,
            override_reason=run.override_reason,
            imported=run.imported,
            imported_row=run.imported_row,
            trace_sha256=run.trace_sha256,
            stopped=run.stopped,
            u_estimate=run.u_estimate,
            corrects=run,
            correction_reason=reason,
            plausibility=plausibility(run.portion.sample, right["a_w"]),
            entered_at=by.at,
            by=by.person,
            **right,
        )
