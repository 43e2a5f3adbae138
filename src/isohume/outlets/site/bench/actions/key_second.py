"""Key a typed number a second time: another person, who does not see the first."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from isohume.bench.reading.second_keying import compare_keyings
from isohume.outlets.site.bench.masks import a_w_typed
from isohume.outlets.site.bench.models import Run, SecondKeying
from isohume.outlets.site.ledger.actions import Action, By, Done, perform
from isohume.outlets.site.lots.actions.open_deviation import OpenDeviation
from isohume.outlets.site.lots.models import Deviation
from isohume.outlets.site.people.models import Site
from isohume.outlets.site.people.roles import ANALYST, MANAGER, RELEASE_OFFICER

DIFFER = "keyings differ"


@dataclass
class KeySecond(Action[SecondKeying]):
    """Both numbers are kept. Where they differ neither is taken: a deviation is opened, once a run."""

    name = "run_keyed_second"
    said = "Keyed a run a second time"
    roles = frozenset({ANALYST, MANAGER, RELEASE_OFFICER})

    run: Run
    a_w: str

    @property
    def site(self) -> Site:
        """The plant of the lot."""
        return self.run.portion.sample.lot.site

    def refusals(self, by: By) -> Iterable[str]:
        """Another person, a typed number that counts, and no agreement yet."""
        run = self.run
        if not run.typed:
            yield f"Run {run.pk} was imported: nobody keyed its number, so nobody keys it again."
        if run.void_reason:
            yield f"Run {run.pk} is void: {run.void_reason.rstrip('.')}."
        if hasattr(run, "corrected_by"):
            yield f"Run {run.pk} was corrected: key run {run.corrected_by.pk}."
        if by.person.pk == run.by_id:
            yield f"{by.person.printed_name} keyed run {run.pk} first: another person keys it the second time."
        if any(keying.agrees for keying in run.second_keyings.all()):
            yield f"Run {run.pk} was keyed a second time, and both keyings agree."

    def change(self, by: By) -> Done[SecondKeying]:
        """Compare and keep both; a difference puts the lot on hold until somebody has answered for it."""
        run, lot = self.run, self.run.portion.sample.lot
        typed = a_w_typed(self.a_w)
        compared = compare_keyings(run.a_w, typed)
        words = " ".join(compared.reasons)
        keying = SecondKeying.objects.create(
            run=run, a_w=typed, agrees=compared.agree, words=words[:300], at=by.at, by=by.person
        )
        if not compared.agree and not Deviation.objects.filter(run=run, kind=DIFFER).exists():
            what = f"Run {run.pk}, {run.portion}: {compared.reasons[0]}"
            perform(OpenDeviation(self.site, DIFFER, what[:500], lot=lot, run=run), by)
        details = {"a_w": typed, "agrees": compared.agree, "difference": compared.words}
        return Done(keying, keying.ref, [run.ref, run.portion.ref, lot.ref], details)
