"""Record the report of a proficiency round: scores, and a deviation where they ask for action."""

from __future__ import annotations

from dataclasses import dataclass

from isohume.foundation.quantity.errors import InputError
from isohume.outlets.site.comparisons.actions.fields import (
    a_w_text,
    instrument_of,
    next_day,
    small_number,
    small_or_blank,
)
from isohume.outlets.site.comparisons.models import ProficiencyRound
from isohume.outlets.site.comparisons.rounds import Scores, scores_of
from isohume.outlets.site.ledger.actions import Action, By, Done, perform
from isohume.outlets.site.lots.actions.open_deviation import OpenDeviation
from isohume.outlets.site.people.models import Site
from isohume.outlets.site.people.roles import MANAGER
from isohume.outlets.site.register.actions.fields import needed_code, needed_words, read_past_date


@dataclass
class RecordRound(Action[ProficiencyRound]):
    """Numbers as the report has them. e_n_counts: "yes" where |E_n| above 1 asks for action too."""

    name = "proficiency_round_recorded"
    said = "Recorded a proficiency round"
    roles = frozenset({MANAGER})

    at_site: Site
    scheme: str
    round: str
    item: str
    assigned: str
    sigma_pt: str
    result: str
    reported_on: str
    u_assigned: str = ""
    u_result: str = ""
    instrument: str = ""
    next_on: str = ""
    e_n_counts: str = ""

    @property
    def site(self) -> Site:
        """The plant."""
        return self.at_site

    def change(self, by: By) -> Done[ProficiencyRound]:
        """Keep the numbers and what follows from them."""
        scheme = needed_words(self.scheme, "scheme", 120, "the scheme in words, as its report calls it")
        number = needed_code(self.round, "round", 60, "the round, such as 2026-2")
        item = needed_words(self.item, "item", 120, "the item that was measured")
        if ProficiencyRound.objects.filter(site=self.at_site, scheme=scheme, round=number, item=item).exists():
            raise InputError("item", item, "an item of this round that is not recorded yet")
        values = {
            "assigned": a_w_text(self.assigned, "assigned"),
            "u_assigned": small_or_blank(self.u_assigned, "u_assigned"),
            "sigma_pt": small_number(self.sigma_pt, "sigma_pt"),
            "result": a_w_text(self.result, "result"),
            "u_result": small_or_blank(self.u_result, "u_result"),
        }
        scores = self._scores(values)
        kept = ProficiencyRound.objects.create(
            site=self.at_site,
            scheme=scheme,
            round=number,
            item=item,
            **values,
            instrument=instrument_of(self.at_site, self.instrument, "instrument") if self.instrument.strip() else None,
            reported_on=read_past_date(self.reported_on, "reported_on", self.at_site, by.at),
            next_on=next_day(self.next_on, "next_on", self.at_site, by.at),
            e_n_counts=self.e_n_counts == "yes",
            z=scores.z,
            zeta=scores.zeta,
            e_n=scores.e_n,
            word=scores.word,
            at=by.at,
            by=by.person,
        )
        about = [kept.instrument.ref] if kept.instrument else []
        if scores.word == "action":
            what = f"{scheme}, round {number}, {item}: {scores.why} asks for action. Find the cause."
            about.append(perform(OpenDeviation(self.at_site, "proficiency round", what, about=kept.ref), by).ref)
        said = {"z": f"{scores.z:.2f}", "zeta": _text(scores.zeta), "E_n": _text(scores.e_n), "word": scores.word}
        return Done(kept, kept.ref, about, {"scheme": scheme, "round": number, "item": item, **values, **said})

    def _scores(self, values: dict[str, str]) -> Scores:
        u_result, u_assigned = (float(values[key]) if values[key] else None for key in ("u_result", "u_assigned"))
        if self.e_n_counts == "yes" and (u_result is None or u_assigned is None):
            missing = "u_result" if u_result is None else "u_assigned"
            raise InputError(missing, "nothing", "the standard uncertainty, as E_n is to count")
        result, assigned, sigma = (float(values[key]) for key in ("result", "assigned", "sigma_pt"))
        return scores_of(result, assigned, sigma, u_result, u_assigned, self.e_n_counts == "yes")


def _text(score: float | None) -> str:
    return "" if score is None else f"{score:.2f}"
