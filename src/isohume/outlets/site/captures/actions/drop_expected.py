"""Take back what was said of the next run: nothing is next on the instrument."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from isohume.outlets.site.captures.models import Expected
from isohume.outlets.site.ledger.actions import Action, By, Done
from isohume.outlets.site.people.models import Site
from isohume.outlets.site.people.roles import BENCH


@dataclass
class DropExpected(Action[Expected]):
    """A run that begins afterwards is an orphan until somebody says what it was."""

    name = "run_expected_dropped"
    said = "Took back what the next run is"
    roles = BENCH

    expected: Expected

    @property
    def site(self) -> Site:
        """The instrument's plant."""
        return self.expected.instrument.site

    def refusals(self, by: By) -> Iterable[str]:
        """Only while no run took it."""
        self.expected.refresh_from_db(fields=["taken", "dropped_at"])
        if self.expected.taken_id is not None:
            yield f"A run took it already: {self.expected.taken}."
        elif self.expected.dropped_at is not None:
            yield "It was taken back or replaced already."

    def change(self, by: By) -> Done[Expected]:
        """It stays in the record."""
        expected = self.expected
        expected.dropped_at = by.at
        expected.save(update_fields=["dropped_at"])
        of = expected.portion or expected.bottle
        about = [expected.instrument.ref, *([of.ref] if of is not None else [])]
        return Done(expected, expected.ref, about, {"of": expected.of_words})
