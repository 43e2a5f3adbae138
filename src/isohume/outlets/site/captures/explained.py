"""What was said of a number that never came, or of a run that belongs to nothing: the deviation opened about it."""

from __future__ import annotations

from dataclasses import replace

from isohume.outlets.site.captures.accounted import Accounted
from isohume.outlets.site.lots.models import Deviation
from isohume.outlets.site.people.models import Site

KIND = "run not accounted for"
NEVER_CAME, EXPLAINED, ORPHAN = "never came", "never came, explained", "nobody has said whose"
GAPS = (NEVER_CAME, EXPLAINED)
Known = dict[str, tuple[int, bool]]
"""By what a deviation is about: its number, and whether it is closed."""


def spoken_of(site: Site) -> Known:
    """The deviations of a plant about gaps and orphans; the last one about a thing stands."""
    found = Deviation.objects.filter(site=site, kind=KIND).order_by("pk").values_list("about", "pk", "closed_at")
    return {about: (pk, closed is not None) for about, pk, closed in found if about}


def with_deviation(row: Accounted, known: Known) -> Accounted:
    """A row with the deviation about it; a gap is explained once that is closed.

    An orphan stays one: it is explained by saying whose it is, or by voiding it with its cause.
    """
    if row.word not in (NEVER_CAME, ORPHAN):
        return row
    pk, closed = known.get(about_of(row), (None, False))
    if row.word == NEVER_CAME and closed:
        return replace(row, word=EXPLAINED, shape="info", deviation=pk)
    return replace(row, deviation=pk)


def about_of(row: Accounted) -> str:
    """What a deviation about a row is about in the ledger: the run after the gap, or the orphan."""
    return row.ref
