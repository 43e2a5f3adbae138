"""What Today says: what may be measured now, what waits, what is wrong. Composed in a fixed number of queries."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

from isohume.outlets.paper.line_spec import LineSpec
from isohume.outlets.site.bench.cups import WaitingCup, expected_marks, waiting_cups
from isohume.outlets.site.bench.models import HandOver
from isohume.outlets.site.bench.queries import to_key_second, versions_in_force, waiting
from isohume.outlets.site.bench.waiting_lots import Waits, waiting_lots
from isohume.outlets.site.captures.models import CapturedRun
from isohume.outlets.site.captures.queries import running_now
from isohume.outlets.site.captures.unaccounted import LooseEnds, loose_ends
from isohume.outlets.site.checks.lines import line_of_standings
from isohume.outlets.site.checks.queries import StandingNow, not_closed, standings
from isohume.outlets.site.lots.models import Deviation
from isohume.outlets.site.people.models import Person, Site
from isohume.outlets.site.register.due_items import DueRow, due_rows

ENDS_SOON_H = 2.0
DAYS_AHEAD = 7
MOST_CUPS, MOST_DEVIATIONS = 8, 12


@dataclass(frozen=True, slots=True)
class Today:
    """Everything the page shows; `cups` are all that wait, the page shows the first of them."""

    standings: list[StandingNow]
    not_closed: list[tuple[StandingNow, int]]  # instruments with runs and no closing check after them
    line: LineSpec | None
    cups: list[WaitingCup]
    lots: list[Waits]
    to_key: int  # runs that wait for this person's second keying
    deviations: list[Deviation]
    more_deviations: bool
    running: list[CapturedRun]
    loose: LooseEnds  # runs that instruments gave and nobody answered for
    hand_over: HandOver | None
    due: list[DueRow]

    @property
    def able(self) -> list[StandingNow]:
        """The instruments that may measure now."""
        return [standing for standing in self.standings if standing.gate.allowed]

    @property
    def to_check(self) -> list[StandingNow]:
        """The instruments in use that may not measure, or not for long."""
        return [
            standing
            for standing in self.standings
            if standing.instrument.in_use and not (standing.gate.allowed and standing.gate.hours_left > ENDS_SOON_H)
        ]

    @property
    def out_of_use(self) -> list[StandingNow]:
        """The instruments that were taken out of use."""
        return [standing for standing in self.standings if not standing.instrument.in_use]

    @property
    def over(self) -> int:
        """How many cups stood longer than their method allows."""
        return sum(cup.over for cup in self.cups)

    @property
    def answer(self) -> str:
        """What may be measured, what waits, what is wrong, in one line."""
        able = ", ".join(standing.instrument.name for standing in self.able)
        first = f"{able} may measure" if able else "No instrument may measure now"
        wrong = f"{len(self.deviations)}{'+' if self.more_deviations else ''} open"
        return f"{first}; {_count(len(self.cups), 'cup')} waiting; deviations: {wrong if self.deviations else 'none'}"

    @property
    def shape(self) -> str:
        """The mark beside the answer."""
        if not self.able:
            return "fail"
        return "hold" if self.deviations or self.over or self.loose else "pass"


def today_of(site: Site, person: Person, now: datetime) -> Today:
    """Today, for a person of a plant."""
    found = standings(site, now)
    portions = waiting(site)
    cups = waiting_cups(portions, versions_in_force(site), now)
    deviations = _open(site)
    return Today(
        standings=found,
        not_closed=not_closed(found),
        line=line_of_standings(found, expected_marks(cups)),
        cups=cups,
        lots=waiting_lots(site, portions),
        to_key=len(to_key_second(site, person)),
        deviations=deviations[:MOST_DEVIATIONS],
        more_deviations=len(deviations) > MOST_DEVIATIONS,
        running=running_now(site),
        loose=loose_ends(site, now),
        hand_over=HandOver.objects.filter(site=site, at__lte=now).select_related("by").order_by("-at", "-pk").first(),
        due=[row for row in due_rows(site, now, days_ahead=DAYS_AHEAD) if not row.due.item.what.startswith("Check of")],
    )


def _open(site: Site) -> list[Deviation]:
    """The open deviations, newest first, each with what it is about."""
    found = Deviation.objects.filter(site=site, closed_at=None).select_related(
        "lot", "owner", "failed_check__instrument", "run__portion__sample__lot"
    )
    return list(found.order_by("-opened_at", "-pk")[: MOST_DEVIATIONS + 1])


def _count(n: int, what: str) -> str:
    return f"{n or 'no'} {what}{'' if n == 1 else 's'}"


def shift_age(note: HandOver, now: datetime) -> str:
    """How long ago a hand-over note was written, in words."""
    hours = int((now - note.at) / timedelta(hours=1))
    return "within the hour" if hours < 1 else f"{hours} h ago" if hours < 48 else f"{hours // 24} days ago"
