"""The one proficiency round of plant A: z = 0.4, acceptable."""

from __future__ import annotations

from datetime import timedelta

from isohume.outlets.demo.plant_a.day import Day
from isohume.outlets.site.comparisons.actions.record_round import RecordRound
from isohume.outlets.site.ledger.actions import By, perform

SCHEME = "Water activity of baked goods (invented scheme)"
ASSIGNED, SIGMA, RESULT = "0.6130", "0.0050", "0.6150"  # (0.6150 - 0.6130)/0.0050 = 0.4


def report_of_the_round(day: Day) -> None:
    """The scheme's report came in, and the manager records it in the evening."""
    given = {
        "scheme": SCHEME,
        "round": f"{day.on.year}-1",
        "item": "Oat crackers, item 4",
        "assigned": ASSIGNED,
        "u_assigned": "0.0009",
        "sigma_pt": SIGMA,
        "result": RESULT,
        "u_result": "0.0038",
        "instrument": str(day.bench.dew_point.pk),
        "reported_on": (day.on - timedelta(days=2)).isoformat(),
        "next_on": (day.on + timedelta(days=363)).isoformat(),
    }
    perform(RecordRound(day.bench.cast.site, **given), By(day.bench.cast.manager, day.at(18, 15)))
