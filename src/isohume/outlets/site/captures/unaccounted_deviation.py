"""A deviation about a number that never came, or about a run of nobody: found again before it is opened."""

from __future__ import annotations

from isohume.foundation.quantity.errors import InputError
from isohume.outlets.site.captures.accounting import Span, accounts_of
from isohume.outlets.site.captures.explained import KIND
from isohume.outlets.site.captures.unaccounted import open_ones, words_of
from isohume.outlets.site.lots.actions.open_deviation import OpenDeviation
from isohume.outlets.site.people.models import Site
from isohume.outlets.site.register.actions.fields import read_date
from isohume.outlets.site.register.models import Instrument


def deviation_about(site: Site, about: str, day: str) -> OpenDeviation:
    """The act that opens it, in the words of the accounting.

    about: the run after the gap, or the orphan, as the ledger names it. day: its day by the plant's clock.
    Raises: InputError where that day has no such gap or orphan, or a deviation about it is there already.
    """
    on = read_date(day, "day")
    instruments = list(Instrument.objects.filter(site=site).select_related("site"))
    found = open_ones(accounts_of(instruments, Span(on, on), carried=False))
    ours = [(instrument, row) for instrument, row in found if row.ref == about and row.deviation is None]
    if not ours:
        raise InputError("about", about, f"a number that never came or a run of nobody, on {on}, without a deviation")
    what = "; ".join(words_of(instrument, row) for instrument, row in ours)
    row = ours[0][1]
    return OpenDeviation(site, KIND, f"{what}. Before or at {row.named or about}, {on}."[:500], about=about)
