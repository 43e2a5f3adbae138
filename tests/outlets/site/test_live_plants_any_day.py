"""Plants B and C have the same shape whenever they are made: on a weekend, over a new year, as the clocks change."""

from __future__ import annotations

from collections import Counter
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from django.db import connection

from isohume.foundation.quantity.errors import InputError
from isohume.outlets.demo.live.days import begun_at, working_days
from isohume.outlets.demo.live.making import PLANTS
from isohume.outlets.demo.plant_a.making import quick_and_safe, quick_passwords
from isohume.outlets.site.bench.models import Lot, Run
from isohume.outlets.site.checks.models import CheckReading
from isohume.outlets.site.lots.models import Deviation, LotRecord

SUNDAY = datetime(2026, 10, 25, 0, 30, tzinfo=UTC)  # half an hour before the clocks go back
MONDAY = datetime(2027, 1, 4, 5, 30, tzinfo=UTC)  # the days lie on both sides of the new year
EXPECTED = {
    "b": {
        "runs": 74,
        "readings of references": 33,
        "lots": {"released": 23, "on hold": 6, "open": 3, "judged": 1},
        "verdicts": {"pass": 28, "conditional fail": 2, "fail": 1},
        "deviations": {"out of specification": 3, "hold": 3},
    },
    "c": {
        "runs": 49,
        "readings of references": 47,
        "lots": {"released": 24, "open": 3},
        "verdicts": {"pass": 24},
        "deviations": {"supplier lot": 1},
    },
}
"""Of two weeks, counted once by hand from the days: nothing of it may depend on when they are."""


def shape() -> dict[str, Any]:
    """What the plant is, without its dates. Signals of charts are left out: they are the dice's and the bottle's."""
    deviations = Deviation.objects.exclude(kind="chart signal").values_list("kind", flat=True)
    return {
        "runs": Run.objects.count(),
        "readings of references": CheckReading.objects.count(),
        "lots": dict(Counter(Lot.objects.values_list("state", flat=True))),
        "verdicts": dict(Counter(LotRecord.objects.values_list("verdict", flat=True))),
        "deviations": dict(Counter(deviations)),
    }


@pytest.mark.parametrize("now", [SUNDAY, MONDAY], ids=["Sunday", "Monday"])
@pytest.mark.parametrize("plant", sorted(PLANTS))
def test_the_shape_is_the_same_on_any_day(site_db: Path, plant: str, now: datetime) -> None:
    with quick_and_safe(), quick_passwords():
        PLANTS[plant].live(now, "four calm oat bars", days=14)
    assert shape() == EXPECTED[plant]
    with connection.cursor() as cursor:
        cursor.execute("SELECT max(at) FROM ledger")
        assert cursor.fetchone()[0] <= now.isoformat()


def test_any_hour_of_two_years_has_five_days_for_each_whole_week() -> None:
    for k in range(0, 2 * 365 * 24, 7):
        now = datetime(2026, 1, 1, tzinfo=UTC) + timedelta(hours=k)
        days = working_days(now, 90)
        assert len(days) == 60
        assert {on.weekday() for on in days} == {0, 1, 2, 3, 4}
        assert now.date() - timedelta(days=3) <= days[-1] < (now + timedelta(hours=1)).date()
        assert (now - begun_at(now, 90)).days in (89, 90)


def test_fewer_days_than_the_incidents_need_are_refused() -> None:
    with pytest.raises(InputError, match="at least 14"):
        working_days(MONDAY, 13)
