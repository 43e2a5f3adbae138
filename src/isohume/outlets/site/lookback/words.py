"""Words of a look-back that screen and paper share."""

from __future__ import annotations

from typing import TYPE_CHECKING

from isohume.bench.decision.look_back import ResultAtRisk
from isohume.outlets.site.lookback.models import ListHold

if TYPE_CHECKING:
    from isohume.outlets.site.lookback.page import LookBackPage

NEARLY = 0.9999
NONE = "\N{EN DASH}"


def conforms(result: ResultAtRisk) -> str:
    """The probability of conformity in percent; certainty is never claimed."""
    p = result.decision.probability_of_conformity
    if p is None:
        return "not known"
    if p > NEARLY:
        return "above 99.99 %"
    return "below 0.01 %" if p < 1 - NEARLY else f"{100 * p:.1f} %"


def beyond_words(beyond: int, doubted: int) -> str:
    """How many lots are beyond a limit, and for how many nothing can be said of it."""
    words = f"{beyond} beyond a limit once corrected"
    return f"{words}; for {doubted} no correction can be believed" if doubted else words


def corrected_words(result: ResultAtRisk) -> str:
    """The corrected value, or that there is none."""
    return f"{float(result.corrected):.4f}" if result.bias.believed else "none believed"


def u_words(result: ResultAtRisk) -> str:
    """The standard uncertainty of the corrected value, where there is one."""
    return f"{result.u:.4f}" if result.bias.believed else NONE


def held_words(hold: ListHold, page: LookBackPage) -> str:
    """Who held how many of the list, and when."""
    n = len(hold.lots.all())
    return f"{hold.by.printed_name} held {n} lot{'' if n == 1 else 's'} at {page.moment(hold.at)}: {hold.reason}."
