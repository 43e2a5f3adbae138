"""Lines that the laboratory's rule did not read: each is kept as it came, and counted where runs are accounted for."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from django.db.models import Count, Max

from isohume.outlets.site.captures.models import Spool, UnreadLine
from isohume.outlets.site.captures.wire import Entry
from isohume.outlets.site.register.models import Instrument


@dataclass(frozen=True, slots=True)
class Unread:
    """How many lines of an instrument were not read in a span, and the newest of them."""

    instrument: Instrument
    count: int
    line: str
    reason: str
    at: datetime

    @property
    def words(self) -> str:
        """As a page says it."""
        said = "1 line was not read" if self.count == 1 else f"{self.count} lines were not read"
        newest = self.line if len(self.line) <= 80 else f"{self.line[:80]}..."
        why = f" ({self.reason})" if self.reason else ""
        return f"{self.instrument.name}: {said}; the newest is {newest!r}{why}"


def unread_line(spool: Spool, instrument: Instrument, at: datetime, entry: Entry) -> UnreadLine:
    """A line to be kept."""
    said = entry.said
    return UnreadLine(spool=spool, instrument=instrument, n=entry.n, at=at, reason=said["reason"], line=said["line"])


def unread_of(instruments: Iterable[Instrument], begin: datetime, end: datetime) -> list[Unread]:
    """The instruments that said lines which were not read from one moment until before another."""
    named = {one.pk: one for one in instruments}
    during = UnreadLine.objects.filter(instrument__in=named, at__gte=begin, at__lt=end)
    counted = during.values("instrument").annotate(count=Count("pk"), newest=Max("pk")).order_by("instrument__name")
    counts = {row["newest"]: row["count"] for row in counted}
    newest = UnreadLine.objects.filter(pk__in=counts).order_by("instrument__name")
    return [Unread(named[one.instrument_id], counts[one.pk], one.line, one.reason, one.at) for one in newest]
