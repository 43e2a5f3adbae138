"""Every run of an instrument in its order: what came of each, and the numbers that never came (F29)."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

from django.db.models import OuterRef, Subquery

from isohume.bench.reading.numbering import Numbered, account
from isohume.foundation.quantity.errors import IsohumeError
from isohume.outlets.site.bench.models import InProcessReading, Run
from isohume.outlets.site.captures.accounted import Accounted, of_captured, of_check_reading, of_in_process, of_run
from isohume.outlets.site.captures.carried import carried_into
from isohume.outlets.site.captures.explained import GAPS, NEVER_CAME, ORPHAN, Known, spoken_of, with_deviation
from isohume.outlets.site.captures.models import CapturedRun
from isohume.outlets.site.captures.queries import captured_of
from isohume.outlets.site.checks.models import CheckReading
from isohume.outlets.site.people.models import Site
from isohume.outlets.site.register.models import Instrument

MOST_DAYS, MOST_ROWS = 92, 4000
UNEXPLAINED = (ORPHAN, "waits for a person")


@dataclass(frozen=True, slots=True)
class Span:
    """Days of the plant, both ends in it."""

    first: date
    last: date

    def moments(self, site: Site) -> tuple[datetime, datetime]:
        """From the first day's beginning to the last day's end, by the plant's clock."""
        zone = ZoneInfo(site.time_zone)
        begin = datetime.combine(self.first, datetime.min.time(), zone)
        return begin, datetime.combine(self.last + timedelta(days=1), datetime.min.time(), zone)

    @property
    def words(self) -> str:
        """As a heading says it."""
        return self.first.isoformat() if self.first == self.last else f"{self.first} to {self.last}"


class TooMany(IsohumeError):  # noqa: N818 - it is an answer, not a fault
    """More runs than a page holds: leaving some out would show gaps that are none."""


@dataclass(frozen=True, slots=True)
class Accounts:
    """One instrument's runs in a span, in words."""

    instrument: Instrument
    rows: tuple[Accounted, ...]
    totals: tuple[tuple[str, int], ...]
    missing: int
    unexplained: int


def accounts_of(instruments: Sequence[Instrument], span: Span, *, carried: bool = True) -> list[Accounts]:
    """Every run of these instruments of one plant, in a few questions however many instruments there are.

    carried: whether references that wait are held against the run before them, which reads traces.
    Raises: TooMany.
    """
    if not instruments:
        return []
    begin, end = span.moments(instruments[0].site)
    rows: dict[int, list[Accounted]] = defaultdict(list)
    for instrument, row in _rows(instruments, begin, end, carried):
        rows[instrument].append(row)
    if sum(map(len, rows.values())) > MOST_ROWS:
        raise TooMany(f"more than {MOST_ROWS} runs: ask for fewer days, or for one instrument")
    before = _last_numbers_before(instruments, begin)
    known = spoken_of(instruments[0].site)
    return [_of(one, sorted(rows[one.pk], key=_in_order), before[one.pk], known) for one in instruments]


def _in_order(row: Accounted) -> tuple[datetime, int]:
    return row.at, row.pk


def _of(instrument: Instrument, rows: list[Accounted], before: str, known: Known) -> Accounts:
    numbered = account([row.number for row in rows], before)
    told = [one for row, said in zip(rows, numbered, strict=True) for one in _with_gap(row, said)]
    told = [with_deviation(one, known) for one in told]
    counts = Counter(one.word for one in told if one.word not in GAPS)
    missing = sum(one.missing for one in told if one.word == NEVER_CAME)
    totals = sorted(counts.items(), key=lambda pair: (-pair[1], pair[0]))
    unexplained = sum(counts[word] for word in UNEXPLAINED)
    return Accounts(instrument, tuple(told), (("numbers that never came", missing), *totals), missing, unexplained)


def _rows(
    instruments: Sequence[Instrument], begin: datetime, end: datetime, carried: bool
) -> Iterable[tuple[int, Accounted]]:
    """Captured, typed and imported runs, typed readings of checks, readings for the line."""
    during, few = (begin, end - timedelta(microseconds=1)), slice(MOST_ROWS + 1)
    captured = captured_of(instruments[0].site).filter(instrument__in=instruments, started_at__range=during)
    yield from _captured(captured.order_by("started_at", "pk")[few], carried)
    runs = Run.objects.filter(instrument__in=instruments, read_at__range=during, corrects=None, captured=None)
    for run in runs.select_related("by", "imported", "portion__sample__lot", "voided_by", "corrected_by")[few]:
        yield run.instrument_id, of_run(run)
    readings = CheckReading.objects.filter(of_check__instrument__in=instruments, read_at__range=during)
    made = CapturedRun.objects.filter(instrument__in=instruments, check_made__isnull=False).values("check_made")
    for reading in readings.exclude(of_check__in=made).select_related("of_check__by", "bottle__solution_lot")[few]:
        yield reading.of_check.instrument_id, of_check_reading(reading)
    lines = InProcessReading.objects.filter(instrument__in=instruments, read_at__range=during)
    for line in lines.select_related("by", "product")[few]:
        yield line.instrument_id, of_in_process(line)


MOST_CARRIED = 20  # waiting references of a page that are held against the runs around them


def _with_carried(found: Sequence[CapturedRun]) -> dict[int, str]:
    """What the waiting references among these runs kept of the run before, in words."""
    asked = [run for run in found if run.bottle_id is not None and run.fate == "waiting" and run.ended_at is not None]
    carried = {run.pk: carried_into(run) for run in asked[:MOST_CARRIED]}
    return {pk: f"Carry-over. {one.action}" for pk, one in carried.items() if one is not None}


def _captured(runs: Iterable[CapturedRun], carried_too: bool) -> Iterable[tuple[int, Accounted]]:
    """A second run of the same cup is said so, and a reference that kept something of the run before."""
    seen: Counter[int] = Counter()
    found = list(runs)
    carried = _with_carried(found) if carried_too else {}
    for run in found:
        if run.portion_id is not None:
            seen[run.portion_id] += 1
        row = of_captured(run, seen[run.portion_id] if run.portion_id is not None else 1)
        yield run.instrument_id, replace(row, words=carried[run.pk]) if run.pk in carried else row


def _with_gap(row: Accounted, said: Numbered) -> Sequence[Accounted]:
    """The numbers missing before a row as rows of their own, then the row."""
    counted = [said.missing, *(0 for _ in said.before[1:])]
    gaps = [
        Accounted(NEVER_CAME, "fail", "", row.at, row.pk, words=words, ref=row.ref, missing=missing)
        for words, missing in zip(said.before, counted, strict=False)
    ]
    return [*gaps, row.with_words(said.said)]


def _last_numbers_before(instruments: Sequence[Instrument], at: datetime) -> dict[int, str]:
    """The number of the last run of each instrument before a moment, however it came."""
    of = {"instrument": OuterRef("pk")}
    captured = CapturedRun.objects.filter(**of, started_at__lt=at).exclude(number="").order_by("-started_at", "-pk")
    typed = Run.objects.filter(**of, read_at__lt=at, corrects=None).exclude(instrument_number="")
    typed = typed.order_by("-read_at", "-pk")
    found = Instrument.objects.filter(pk__in=[one.pk for one in instruments]).annotate(
        captured_at=Subquery(captured.values("started_at")[:1]),
        captured_number=Subquery(captured.values("number")[:1]),
        typed_at=Subquery(typed.values("read_at")[:1]),
        typed_number=Subquery(typed.values("instrument_number")[:1]),
    )
    out = {}
    for one in found:
        known = [(one.captured_at, one.captured_number), (one.typed_at, one.typed_number)]
        out[one.pk] = max(((moment, number) for moment, number in known if number), default=(None, ""))[1]
    return out
