"""Void a captured run for a cause that was found before any newer number was known; its trace stays."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from isohume.foundation.quantity.errors import InputError
from isohume.foundation.quantity.typed import read_words
from isohume.outlets.site.captures.actions.one_row import give_way
from isohume.outlets.site.captures.actions.states import refuse_fate
from isohume.outlets.site.captures.causes import CAUSES, NEEDS_WORDS, cause_of
from isohume.outlets.site.captures.first_persons import first_persons
from isohume.outlets.site.captures.models import CapturedRun
from isohume.outlets.site.captures.retests import later_on_instrument, newer_numbers
from isohume.outlets.site.captures.same_read import typed_of
from isohume.outlets.site.ledger.actions import Action, By, Done
from isohume.outlets.site.people.models import Site
from isohume.outlets.site.people.roles import BENCH, MANAGER


@dataclass
class VoidCaptured(Action[CapturedRun]):
    """A second person voids it, because whoever put the cup in has seen its number grow.

    A first person is whoever said what it is of, also where another one said otherwise since. Of an orphan nobody knows
    who that was, so that a manager answers for it; the line then names what the instrument gave after it. A run that
    gave no reading has shown nobody anything: its own first person may void it. A run that goes on may be voided; its
    trace is kept to its end.
    """

    name = "captured_run_voided"
    said = "Voided a captured run"
    roles = BENCH

    run: CapturedRun
    cause: str
    reason: str = ""

    @property
    def site(self) -> Site:
        """The run's plant."""
        return self.run.site

    def refusals(self, by: By) -> Iterable[str]:
        """The right person, before the newer number is known."""
        run = self.run
        yield from refuse_fate(run)
        run.refresh_from_db(fields=["readings"])
        if run.readings and run.of is None and not by.person.holds(MANAGER):
            yield "Nobody has said whose it is: assign it first, or a manager voids it."
        if run.readings and by.person in first_persons(run):
            yield f"{by.person.printed_name} said what it is, and its number is known: a second person voids it."
        typed = typed_of(run)
        if any(one.by_id == by.person.pk for one in typed):
            yield f"{by.person.printed_name} typed its number: a second person voids it."
        if newer := newer_numbers(run):
            yield f"A newer number is known already ({', '.join(newer)}): the cause comes before the retest."

    def change(self, by: By) -> Done[CapturedRun]:
        """It stays with its number, its trace and its cause."""
        cause = cause_of(self.cause)
        reason = read_words(self.reason, "reason", 1000)
        if cause in NEEDS_WORDS and not reason:
            raise InputError("reason", "nothing", "the cause in words")
        run = self.run
        run.fate, run.void_cause, run.void_reason = "void", cause, reason
        run.voided_at, run.voided_by = by.at, by.person
        run.save(update_fields=["fate", "void_cause", "void_reason", "voided_at", "voided_by"])
        of = [run.of.ref] if run.of is not None else []
        lot = [run.portion.sample.lot.ref] if run.portion else []
        details = {"cause": CAUSES[cause], "last_a_w": run.last_a_w}
        if run.of is None and (later := later_on_instrument(run)):
            details["runs_after_it"] = ", ".join(later)
        typed = give_way(run, f"This read is {run.named}, which is void: {CAUSES[cause]}.", by)
        return Done(run, run.ref, [*of, *lot, run.instrument.ref, *typed.about], {**details, **typed.details}, reason)
