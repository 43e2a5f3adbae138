"""The one proficiency round of a plant's life, recorded when its report came."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta

from isohume.outlets.demo.live.days import Day
from isohume.outlets.site.comparisons.actions.record_round import RecordRound
from isohume.outlets.site.ledger.actions import perform


@dataclass(frozen=True, slots=True)
class Round:
    """A scheme's item: its assigned value, what the plant read, the scheme's standard deviation."""

    scheme: str
    item: str
    assigned: str
    sigma_pt: str
    result: str
    u_result: str
    instrument: str


def report_of(day: Day, of: Round) -> None:
    """The report of the round came in, and the manager records it in the evening."""
    by = day.by("manager", day.at(18, 15))
    action = RecordRound(
        by.person.site,
        scheme=of.scheme,
        round=f"{day.on.year}-1",
        item=of.item,
        assigned=of.assigned,
        u_assigned="0.0009",
        sigma_pt=of.sigma_pt,
        result=of.result,
        u_result=of.u_result,
        instrument=str(day.bench.instruments[of.instrument].pk),
        reported_on=(day.on - timedelta(days=2)).isoformat(),
        next_on=(day.on + timedelta(days=363)).isoformat(),
    )
    perform(action, by)
