"""Void a run: for a cause that was found before any newer number was seen, by a second person."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from django.db.models import Q

from isohume.foundation.quantity.errors import InputError
from isohume.foundation.quantity.typed import read_words
from isohume.outlets.site.bench.actions.decided import DECIDED
from isohume.outlets.site.bench.models import Run
from isohume.outlets.site.bench.rereads import counting
from isohume.outlets.site.ledger.actions import Action, By, Done
from isohume.outlets.site.people.models import Site
from isohume.outlets.site.people.roles import BENCH


@dataclass
class VoidRun(Action[Run]):
    """The run stays with its number; it counts no more. A retest first would be choosing by value."""

    name = "run_voided"
    said = "Voided a run"
    roles = BENCH

    run: Run
    reason: str

    @property
    def site(self) -> Site:
        """The plant of the lot."""
        return self.run.portion.sample.lot.site

    def refusals(self, by: By) -> Iterable[str]:
        """A second person, an undecided lot, and no newer number of the cup or the sample."""
        run, lot = self.run, self.run.portion.sample.lot
        if run.void_reason:
            yield f"Run {run.pk} is void already: {run.void_reason.rstrip('.')}."
        if hasattr(run, "corrected_by"):
            yield f"Run {run.pk} was corrected: void the correction, run {run.corrected_by.pk}."
        if by.person.pk == run.by_id:
            yield f"{by.person.printed_name} recorded run {run.pk}: a second person voids it."
        if lot.state in DECIDED:
            yield f"Lot {lot.code} is {lot.state}: its runs stay as they were decided on."
        later = self._later()
        if later:
            named = ", ".join(f"run {other.pk} of cup {other.portion.code}" for other in later)
            yield f"A newer number of the same sample is known already ({named}): the cause comes before the retest."

    def change(self, by: By) -> Done[Run]:
        """Void it; the cup waits again where nothing of it is left that counts."""
        reason = read_words(self.reason, "reason", 1000)
        if not reason:
            raise InputError("reason", "nothing", "the cause that was found, such as condensation on the block")
        run, portion = self.run, self.run.portion
        run.void_reason, run.voided_at, run.voided_by = reason, by.at, by.person
        run.save(update_fields=["void_reason", "voided_at", "voided_by"])
        if not portion.discarded_reason and not counting(portion):
            portion.done = False
            portion.save(update_fields=["done"])
        about = [portion.ref, portion.sample.ref, portion.sample.lot.ref, run.instrument.ref]
        return Done(run, run.ref, about, {"a_w": run.a_w}, reason)

    def _later(self) -> list[Run]:
        """Runs of the same sample read or entered after this one; a correction is the same run with its slip put right.

        What this run itself corrects was entered before it and is not later.
        """
        run = self.run
        first = run
        while first.corrects is not None:
            first = first.corrects
        newer = Q(read_at__gt=first.read_at) | Q(pk__gt=first.pk)
        of_sample = Run.objects.filter(newer, portion__sample_id=run.portion.sample_id, corrects=None)
        return list(of_sample.exclude(pk=first.pk).select_related("portion").order_by("pk"))
