"""Say afterwards whose a captured run was: an orphan's cup or bottle, or another one than was said first."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from isohume.foundation.quantity.errors import InputError
from isohume.outlets.site.bench.actions.decided import decided_now
from isohume.outlets.site.bench.models import Portion
from isohume.outlets.site.bench.moments import before_minute, shown_at
from isohume.outlets.site.captures.actions.states import refuse_fate
from isohume.outlets.site.captures.models import CapturedRun
from isohume.outlets.site.checks.bottles import reasons_at
from isohume.outlets.site.ledger.actions import Action, By, Done
from isohume.outlets.site.people.models import Site
from isohume.outlets.site.people.roles import BENCH
from isohume.outlets.site.register.actions.fields import needed_words
from isohume.outlets.site.register.models import Bottle


@dataclass
class AssignRun(Action[CapturedRun]):
    """Its number may be known by then, so that there is a reason; what a person said before, another one changes."""

    name = "captured_run_assigned"
    said = "Said whose a captured run was"
    roles = BENCH

    run: CapturedRun
    portion: Portion | None = None
    bottle: Bottle | None = None
    reason: str = ""

    @property
    def site(self) -> Site:
        """The run's plant."""
        return self.run.site

    def refusals(self, by: By) -> Iterable[str]:
        """A run without a fate, a cup that was there by then, a bottle that could be read; a second person."""
        yield from refuse_fate(self.run)
        run = self.run
        if run.assigned_by_id == by.person.pk:
            yield f"{by.person.printed_name} said that it was {run.of_words}: a second person changes that."
        if self.portion is not None:
            yield from self._against_portion(self.portion)
        if self.bottle is not None:
            if self.bottle.solution_lot.site_id != run.site_id:
                yield "This bottle belongs to another plant."
            else:
                yield from reasons_at(self.bottle, run.started_at)

    def _against_portion(self, portion: Portion) -> Iterable[str]:
        run = self.run
        if portion.sample.lot.site_id != run.site_id:
            yield "This cup belongs to another plant."
        elif before_minute(run.started_at, portion.prepared_at):
            prepared, began = (shown_at(at, run.site) for at in (portion.prepared_at, run.started_at))
            yield f"Cup {portion.code} was prepared at {prepared}, after this run began at {began}."

    def change(self, by: By) -> Done[CapturedRun]:
        """The old word stays in the trail."""
        if (self.portion is None) == (self.bottle is None):
            raise InputError("of", "nothing", "a cup or a bottle: scan it, or pick it")
        reason = needed_words(self.reason, "reason", 300, "how it is known, such as the cup stood in the chamber")
        run, before = self.run, self.run.of
        if before == (self.portion or self.bottle):
            raise InputError("of", run.of_words, "another cup or bottle than it is of already")
        said_before = run.of_words
        run.portion, run.bottle = self.portion, self.bottle
        run.assigned_at, run.assigned_by = by.at, by.person
        run.save(update_fields=["portion", "bottle", "assigned_at", "assigned_by"])
        of = [one.ref for one in (run.of, before) if one is not None]
        lot = [run.portion.sample.lot.ref] if run.portion else []
        details: dict[str, object] = {"of": [said_before, run.of_words], "last_a_w": run.last_a_w}
        if run.portion is not None and decided_now(run.portion.sample.lot):
            details["lot"] = f"{run.portion.sample.lot.code}, which is {run.portion.sample.lot.state} already"
        return Done(run, run.ref, [*of, *lot, run.instrument.ref], details, reason)
