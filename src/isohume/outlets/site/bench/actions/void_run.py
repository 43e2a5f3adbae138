"""Void a run: for a cause that was found before any newer number was seen, by a second person."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from django.db.models import Min, Q

from isohume.foundation.quantity.errors import InputError
from isohume.foundation.quantity.typed import read_words
from isohume.outlets.site.bench.actions.decided import corrected_now, decided_now
from isohume.outlets.site.bench.models import Run
from isohume.outlets.site.bench.rereads import counting
from isohume.outlets.site.captures.first_persons import first_persons
from isohume.outlets.site.captures.models import CapturedRun
from isohume.outlets.site.captures.retests import captured_after
from isohume.outlets.site.ledger.actions import Action, By, Done
from isohume.outlets.site.ledger.models import TrailLine
from isohume.outlets.site.people.models import Site
from isohume.outlets.site.people.roles import BENCH


@dataclass
class VoidRun(Action[Run]):
    """The run stays with its number; it counts no more. A retest first would be choosing by value.

    A retest is a later run of the same cup, or a later run anywhere in the lot of a cup that was prepared after this
    run was recorded. Duplicates whose cups stood ready together are no retest of each other and do not stand in the
    way. A run that was voided since is a retest all the same: its number was seen.
    """

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
        """A second person, an undecided lot, and no retest whose number is known."""
        run, lot = self.run, self.run.portion.sample.lot
        correction, decided = corrected_now(run), decided_now(lot)
        if run.void_reason:
            yield f"Run {run.pk} is void already: {run.void_reason.rstrip('.')}."
        if correction is not None:
            yield f"Run {run.pk} was corrected: void the correction, run {correction.pk}."
        if by.person.pk == run.by_id:
            yield f"{by.person.printed_name} recorded run {run.pk}: a second person voids it."
        captured = CapturedRun.objects.filter(run=self._first).first()
        if captured is not None and by.person.pk != run.by_id and by.person in first_persons(captured):
            yield f"{by.person.printed_name} said what {captured.named} is: a second person voids it."
        if decided:
            yield f"Lot {lot.code} is {lot.state}: its runs stay as they were decided on."
        later = [f"run {other.pk} of cup {other.portion.code}" for other in self._retests()]
        later += captured_after(self._first)
        if later:
            named = ", ".join(later)
            yield f"A newer number of the lot is known already ({named}): the cause comes before the retest."

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

    @property
    def _first(self) -> Run:
        """What this run corrects, or itself."""
        first = self.run
        while first.corrects is not None:
            first = first.corrects
        return first

    def _retests(self) -> list[Run]:
        """Later runs of the same cup, or of a cup that was prepared after this run was recorded.

        A correction is the same run with its slip put right: what this run corrects was entered before it.
        """
        first = self._first
        newer = Q(read_at__gt=first.read_at) | Q(pk__gt=first.pk)
        of_lot = Run.objects.filter(newer, portion__sample__lot_id=first.portion.sample.lot_id, corrects=None)
        found = list(of_lot.exclude(pk=first.pk).select_related("portion").order_by("pk"))
        recorded = _first_lines({first.ref}).get(first.ref)
        prepared = _first_lines({run.portion.ref for run in found})
        return [
            run
            for run in found
            if run.portion_id == first.portion_id
            or run.portion.prepared_at > first.entered_at
            # the time of preparation is typed; the ledger says in which order both were said
            or (recorded is not None and prepared.get(run.portion.ref, 0) > recorded)
        ]


def _first_lines(refs: set[str]) -> dict[str, int]:
    """The number of the first ledger line that speaks of each object."""
    return dict(TrailLine.objects.filter(ref__in=refs).values_list("ref").annotate(Min("seq")))
