"""Gaps and orphans among a lot's reads stop its verdict until somebody explains them: job.md F29, row 16, plant D."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path
from unittest.mock import patch

import pytest
from django.test import Client
from django.urls import reverse
from tests.outlets.site.bench.shift import NOW, Shift
from tests.outlets.site.browse import BACKEND
from tests.outlets.site.captures.bench_agent import SETTLES, WARM, BenchAgent, does, make_captures

from isohume.outlets.site.bench.models import Lot, Run
from isohume.outlets.site.bench.today import today_of
from isohume.outlets.site.captures.actions.void_captured import VoidCaptured
from isohume.outlets.site.captures.unaccounted import unaccounted_of_lot
from isohume.outlets.site.ledger.actions import Refused
from isohume.outlets.site.lots.actions.judge_lot import JudgeLot
from isohume.outlets.site.lots.models import Deviation
from isohume.outlets.site.lots.signing_rules import reasons_against

DAY = NOW.date().isoformat()
LATER = NOW + timedelta(minutes=90)


@pytest.fixture
def both(site_db: Path) -> tuple[Shift, BenchAgent]:
    return make_captures()


def read_twice(shift: Shift, *numbers: str, code: str = "SB-0916-03", begins: int = 10) -> Lot:
    """A lot of as many cups as numbers, each typed with the instrument's own number, ten minutes apart."""
    sample = shift.sample(shift.lot(code), portions=len(numbers))
    for n, (portion, number) in enumerate(zip(sample.portions.order_by("pk"), numbers, strict=True)):
        at = NOW + timedelta(minutes=begins + 10 * n)
        shift.run(portion, "0.640", at=at, instrument_number=number)
    return sample.lot


def analyst_of(shift: Shift) -> Client:
    client = Client()
    client.force_login(shift.analyst, BACKEND)
    return client


def test_a_deleted_row_stops_its_own_lot_until_a_deviation_about_it_is_closed(both: tuple[Shift, BenchAgent]) -> None:
    """Row 16: rows 1 to 5 of an instrument, the third one deleted."""
    shift, _ = both
    lot = read_twice(shift, "0001", "0002", "0004", "0005")
    with pytest.raises(Refused, match=r"OW-1: 0003 never came, between the reads of lot SB-0916-03 on .*Open a dev"):
        does(shift, JudgeLot(lot), 90)
    client, after = analyst_of(shift), shift_run(lot, "0004")
    opened = client.post(reverse("accounting_deviation"), {"about": after, "day": DAY})
    deviation = Deviation.objects.get(kind="run not accounted for")
    assert opened["Location"] == reverse("deviation", args=[deviation.pk])
    assert deviation.about == after
    assert deviation.what.startswith("OW-1: 0003 never came")
    with pytest.raises(Refused, match=rf"Deviation {deviation.pk} about it is open: close it"):
        does(shift, JudgeLot(lot), 90)
    again = client.post(reverse("accounting_deviation"), {"about": after, "day": DAY})
    assert again.status_code == 422
    assert Deviation.objects.filter(kind="run not accounted for").count() == 1
    Deviation.objects.filter(pk=deviation.pk).update(closed_at=LATER, closed_by=shift.bench.manager)
    assert unaccounted_of_lot(lot) == []
    assert does(shift, JudgeLot(lot), 95)
    page = client.get(f"{reverse('accounting')}?from={DAY}&to={DAY}").content.decode()
    assert "ever came, explained" in page
    assert "1 number never came" not in page


def shift_run(lot: Lot, number: str) -> str:
    """The run of a number, as the ledger names it."""
    return Run.objects.get(portion__sample__lot=lot, instrument_number=number).ref


def test_a_gap_between_two_lots_stops_neither(both: tuple[Shift, BenchAgent]) -> None:
    shift, _ = both
    first = read_twice(shift, "0001", "0002")
    second = read_twice(shift, "0005", "0006", code="SB-0916-04", begins=40)
    assert unaccounted_of_lot(first) == []
    assert unaccounted_of_lot(second) == []
    assert does(shift, JudgeLot(first), 90)


def test_a_gap_that_comes_after_the_record_stops_the_release(both: tuple[Shift, BenchAgent]) -> None:
    """Plant D: the instrument holds three runs of the gummy, the record one."""
    shift, _ = both
    lot = read_twice(shift, "0001", "0002")
    record = does(shift, JudgeLot(lot), 60)
    assert "never came" not in " ".join(reasons_against(record, "released", shift.bench.officer))
    again = shift.portion(shift.sample(lot))
    shift.run(again, "0.596", at=NOW + timedelta(minutes=61), instrument_number="0005")
    said = " ".join(reasons_against(record, "released", shift.bench.officer))
    assert "OW-1: 0003 to 0004 never came, between the reads of lot SB-0916-03" in said


def test_an_orphan_between_the_reads_waits_for_its_owner(both: tuple[Shift, BenchAgent]) -> None:
    shift, agent = both
    sample = shift.sample(shift.lot("SB-0916-03"), portions=2)
    first, second = sample.portions.order_by("pk")
    shift.run(first, "0.640", at=NOW + timedelta(minutes=5))
    orphan = agent.brings("r1", SETTLES, NOW + timedelta(minutes=25), **WARM)
    shift.run(second, "0.640", at=NOW + timedelta(minutes=70))
    found = unaccounted_of_lot(sample.lot)
    assert len(found) == 1
    assert "belongs to nobody" in found[0]
    assert found[0].endswith("Say whose it is, or void it with its cause.")
    does(shift, VoidCaptured(orphan, "no-sample", "a trial of the lid"), 75, manager=True)
    assert unaccounted_of_lot(sample.lot) == []


def test_today_names_what_nobody_answered_for(both: tuple[Shift, BenchAgent]) -> None:
    shift, agent = both
    assert not today_of(shift.bench.site, shift.analyst, LATER).loose
    read_twice(shift, "0001", "0003")
    agent.brings("r1", SETTLES, NOW + timedelta(minutes=40), **WARM)
    loose = today_of(shift.bench.site, shift.analyst, LATER).loose
    assert (loose.waiting, loose.orphans, loose.missing) == (0, 1, 1)
    with patch("django.utils.timezone.now", return_value=LATER):
        page = analyst_of(shift).get(reverse("today")).content.decode()
    assert "Runs that nobody answered for" in page
    assert reverse("live") in page
    assert "1 number never came" in page
