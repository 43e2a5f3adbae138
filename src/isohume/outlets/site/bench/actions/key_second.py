"""Key a typed number a second time: another person, who does not see the first."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from isohume.bench.reading.second_keying import compare_keyings
from isohume.outlets.site.bench.actions.decided import corrected_now, decided_now
from isohume.outlets.site.bench.masks import a_w_typed
from isohume.outlets.site.bench.models import Run, SecondKeying
from isohume.outlets.site.ledger.actions import Action, By, Done, perform
from isohume.outlets.site.lots.actions.open_deviation import OpenDeviation
from isohume.outlets.site.lots.models import Deviation
from isohume.outlets.site.people.models import Site
from isohume.outlets.site.people.roles import KEYS_SECOND

DIFFER = "keyings differ"


@dataclass
class KeySecond(Action[SecondKeying]):
    """Both numbers are kept. Where they differ neither is taken: a deviation is opened, once a run.

    One keying a person a run: the answer shows the first number, and keying it until it agrees would be copying it.
    """

    name = "run_keyed_second"
    said = "Keyed a run a second time"
    roles = KEYS_SECOND

    run: Run
    a_w: str

    @property
    def site(self) -> Site:
        """The plant of the lot."""
        return self.run.portion.sample.lot.site

    def refusals(self, by: By) -> Iterable[str]:
        """Another person for the first time, a typed number that counts, a lot not decided, no agreement yet."""
        run, lot = self.run, self.run.portion.sample.lot
        correction, decided = corrected_now(run), decided_now(lot)
        if decided:
            yield f"Lot {lot.code} is {lot.state}: its runs stay as they were decided on."
        if not run.typed:
            came = "imported" if run.imported_id else "captured from the instrument"
            yield f"Run {run.pk} was {came}: nobody keyed its number, so nobody keys it again."
        if run.void_reason:
            yield f"Run {run.pk} is void: {run.void_reason.rstrip('.')}."
        if correction is not None:
            yield f"Run {run.pk} was corrected: key run {correction.pk}."
        if by.person.pk == run.by_id:
            yield f"{by.person.printed_name} keyed run {run.pk} first: another person keys it the second time."
        if run.second_keyings.filter(agrees=True).exists():
            yield f"Run {run.pk} was keyed a second time, and both keyings agree."
        elif run.second_keyings.filter(by=by.person).exists():
            yield f"You keyed run {run.pk} already: a third person keys it, or a correction resolves it."

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
