"""Words of a look-back that screen and paper share."""

from __future__ import annotations

from typing import TYPE_CHECKING

from isohume.bench.decision.look_back import ResultAtRisk
from isohume.outlets.site.lookback.models import ListHold

if TYPE_CHECKING:
    from isohume.outlets.site.lookback.page import LookBackPage

NEARLY = 0.9999


def conforms(result: ResultAtRisk) -> str:
    """The probability of conformity in percent; certainty is never claimed."""
    p = result.decision.probability_of_conformity
    if p is None:
        return "not known"
    if p > NEARLY:
        return "above 99.99 %"
    return "below 0.01 %" if p < 1 - NEARLY else f"{100 * p:.1f} %"


def held_words(hold: ListHold, page: LookBackPage) -> str:
    """Who held how many of the list, and when."""
    n = len(hold.lots.all())
    return f"{hold.by.printed_name} held {n} lot{'' if n == 1 else 's'} at {page.moment(hold.at)}: {hold.reason}."
