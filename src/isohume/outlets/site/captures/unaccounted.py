"""Numbers that never came and runs of nobody among a lot's own reads: no verdict goes past them (job.md F29).

An instrument that was read three times and a record that holds one is how a product is tested until it passes. What
stands elsewhere in the instrument's order touches other lots, not this one.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from isohume.bench.reading.numbering import account
from isohume.outlets.site.bench.models import Lot, Run
from isohume.outlets.site.bench.moments import plant_day
from isohume.outlets.site.captures.accounted import Accounted
from isohume.outlets.site.captures.accounting import Accounts, Span, TooMany, accounts_of
from isohume.outlets.site.captures.explained import NEVER_CAME, ORPHAN, spoken_of
from isohume.outlets.site.captures.models import CapturedRun
from isohume.outlets.site.people.models import Site
from isohume.outlets.site.register.models import Instrument

TOGETHER = timedelta(hours=12)
"""Reads of a lot this near to each other are one sitting, also over midnight (no source)."""
LAST_DAYS = 7


@dataclass(frozen=True, slots=True)
class LooseEnds:
    """Runs that wait to be accepted or voided, runs of nobody, and numbers that never came in the days named."""

    waiting: int
    orphans: int
    missing: int
    span: Span

    def __bool__(self) -> bool:
        return bool(self.waiting or self.orphans or self.missing)


def unaccounted_of_lot(lot: Lot) -> list[str]:
    """Why a lot is neither judged nor released: what is missing between its reads on one instrument."""
    reasons = []
    for instrument, times in _reads(lot).items():
        for first, last in _sittings(times):
            reasons += _between(instrument, first, last, lot)
    return reasons


def open_ones(accounts: Iterable[Accounts]) -> list[tuple[Instrument, Accounted]]:
    """Every gap and orphan that nobody explained."""
    return [(one.instrument, row) for one in accounts for row in one.rows if row.word in (NEVER_CAME, ORPHAN)]


def loose_ends(site: Site, now: datetime) -> LooseEnds:
    """What the instruments of a plant gave and nobody answered for, as Today names it, in four questions."""
    ended = CapturedRun.objects.filter(site=site, fate="waiting", started_at__lte=now).exclude(ended_at=None)
    whose = [portion is None and bottle is None for portion, bottle in ended.values_list("portion", "bottle")]
    today = plant_day(now, site)
    span = Span(today - timedelta(days=LAST_DAYS - 1), today)
    return LooseEnds(whose.count(False), whose.count(True), _missing(site, span), span)


def _missing(site: Site, span: Span) -> int:
    """How many numbers between the runs of these days never came, without those that were explained."""
    begin, end = span.moments(site)
    captured = CapturedRun.objects.filter(site=site, started_at__gte=begin, started_at__lt=end).exclude(number="")
    by_hand = Run.objects.filter(instrument__site=site, read_at__gte=begin, read_at__lt=end, corrects=None)
    by_hand = by_hand.filter(captured=None).exclude(instrument_number="")
    numbered: dict[int, list[tuple[datetime, int, str, str]]] = {}
    for instrument, at, pk, number in captured.values_list("instrument", "started_at", "pk", "number"):
        numbered.setdefault(instrument, []).append((at, pk, number, f"capturedrun:{pk}"))
    for instrument, at, pk, number in by_hand.values_list("instrument", "read_at", "pk", "instrument_number"):
        numbered.setdefault(instrument, []).append((at, pk, number, f"run:{pk}"))
    explained = {about for about, (_, closed) in spoken_of(site).items() if closed}
    missing = 0
    for rows in map(sorted, numbered.values()):
        found = account([number for _, _, number, _ in rows])
        missing += sum(said.missing for said, row in zip(found, rows, strict=True) if row[-1] not in explained)
    return missing


def words_of(instrument: Instrument, row: Accounted) -> str:
    """What is to be explained, for a deviation and for a refusal."""
    if row.word == ORPHAN:
        return f"{row.named.capitalize()} on {instrument.name} belongs to nobody"
    return f"{instrument.name}: {row.words.rstrip('.')}"


def _reads(lot: Lot) -> dict[Instrument, list[datetime]]:
    """When each instrument read the lot, accepted or not, void or not: a void read is a read."""
    found: dict[Instrument, list[datetime]] = {}
    runs = Run.objects.filter(portion__sample__lot=lot, captured=None).select_related("instrument__site")
    for run in runs:
        found.setdefault(run.instrument, []).append(run.read_at)
    captured = CapturedRun.objects.filter(portion__sample__lot=lot).select_related("instrument__site")
    for one in captured:
        found.setdefault(one.instrument, []).append(one.started_at)
    return found


def _sittings(times: Sequence[datetime]) -> list[tuple[datetime, datetime]]:
    """First and last read of each sitting with more than one."""
    found: list[list[datetime]] = []
    for at in sorted(times):
        if found and at - found[-1][1] <= TOGETHER:
            found[-1][1] = at
        else:
            found.append([at, at])
    return [(first, last) for first, last in found if first < last]


def _between(instrument: Instrument, first: datetime, last: datetime, lot: Lot) -> list[str]:
    site = instrument.site
    span = Span(plant_day(first, site), plant_day(last, site))
    try:
        accounts = accounts_of([instrument], span, carried=False)
    except TooMany as error:
        return [f"The runs of {instrument.name} on {span.words} cannot be accounted for: {error}."]
    found = [row for _, row in open_ones(accounts) if first < row.at <= last]
    return [_reason(instrument, row, lot, span) for row in found]


def _reason(instrument: Instrument, row: Accounted, lot: Lot, span: Span) -> str:
    what = f"{words_of(instrument, row)}, between the reads of lot {lot.code} on {span.words}."
    if row.word == ORPHAN:
        return f"{what} Say whose it is, or void it with its cause."
    if row.deviation is not None:
        return f"{what} Deviation {row.deviation} about it is open: close it with what was found."
    return f"{what} Open a deviation about it under Every run accounted for, and close it with what was found."
