"""Plant A has its two incidents, and lived by the site's own rules."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest
from django.conf import settings
from django.db import connection

from isohume.bench.record.verification import verify
from isohume.outlets.demo.plant_a import make
from isohume.outlets.site.bench.models import Lot, Portion, Run
from isohume.outlets.site.checks.models import Check
from isohume.outlets.site.comparisons.models import ProficiencyRound
from isohume.outlets.site.lots.models import Deviation, LotRecord

NOW = datetime(2026, 11, 26, 9, 30, tzinfo=UTC)  # a Thursday: the incident was yesterday and the day before


@pytest.fixture(scope="module")
def plant(template: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Path]:
    """Ten days of plant A."""
    folder = tmp_path_factory.mktemp("plant") / "data"
    shutil.copytree(template, folder)
    connection.close()
    connection.settings_dict["NAME"], settings.DATA = folder / "isohume.sqlite3", folder
    make(folder, NOW, days=10)
    yield folder
    connection.close()


def test_exactly_eleven_lots_lie_between_the_good_check_and_the_failed_one(plant: Path) -> None:
    failed = Check.objects.get(passed=False)
    assert (failed.instrument.name, failed.last_read_at.weekday()) == ("OW-1", 2)
    off = {s["solution"]: round(s["deviation"], 4) for s in failed.result["solutions"]}
    assert (off["NaCl"], off["Mg(NO3)2"]) == (pytest.approx(-0.012, abs=5e-5), pytest.approx(-0.009, abs=5e-5))
    good = Check.objects.filter(instrument=failed.instrument, passed=True, last_read_at__lt=failed.first_read_at)
    last = good.latest("last_read_at")
    assert last.first_read_at.astimezone(ZoneInfo("Europe/London")).strftime("%a %H:%M") == "Tue 06:05"
    assert failed.first_read_at - last.first_read_at == timedelta(hours=24, minutes=5), "no closing check between"
    between = Run.objects.filter(
        instrument=failed.instrument, read_at__gt=last.last_read_at, read_at__lt=failed.first_read_at
    )
    lots = Lot.objects.filter(samples__portions__runs__in=between).distinct()
    assert lots.count() == 11
    values = sorted(round(record.value, 4) for record in LotRecord.objects.filter(lot__in=lots))
    assert values[-2:] == [0.642, 0.645], "as read; both are beyond 0.650 once the bias is taken off"


def test_a_swap_of_digits_waits_for_its_finder(plant: Path) -> None:
    deviation = Deviation.objects.get(kind="keyings differ")
    assert (deviation.run.a_w, deviation.run.second_keyings.get().a_w) == ("0.618", "0.681")
    assert "the digits 1 and 8 are swapped" in deviation.run.second_keyings.get().words
    assert deviation.closed_at is None
    assert deviation.lot.state == "on hold"


def test_the_days_are_whole(plant: Path) -> None:
    assert Run.objects.count() > 150
    assert Portion.objects.filter(done=False).count() == 12, "what waits this morning"
    assert Run.objects.filter(imported=None).exclude(second_keyings=None).exists()
    assert Run.objects.exclude(imported=None).exists()
    states = set(Lot.objects.values_list("state", flat=True))
    assert {"released", "open", "on hold"} <= states
    assert Deviation.objects.filter(kind="failed check").count() == 1


def test_the_ledger_verifies(plant: Path) -> None:
    connection.close()
    found = verify(plant)
    assert (found.verified, found.first_bad) == (True, None)
    assert found.records >= 80


def test_nothing_lies_after_now(plant: Path) -> None:
    assert Run.objects.latest("entered_at").entered_at <= NOW
    with connection.cursor() as cursor:
        cursor.execute("SELECT max(at) FROM ledger")
        assert cursor.fetchone()[0] <= "2026-11-26T09:30:00+00:00"


def test_the_one_proficiency_round_is_acceptable(plant: Path) -> None:
    found = ProficiencyRound.objects.get()
    assert (round(found.z, 6), found.word) == (0.4, "acceptable")
    assert not Deviation.objects.filter(kind="proficiency round").exists()
