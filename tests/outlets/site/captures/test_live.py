"""The live page before its stream begins: how ready each instrument is, what may be next, and the acts posted to it."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone
from tests.outlets.site import make
from tests.outlets.site.bench.shift import NOW, Shift, make_shift, words
from tests.outlets.site.browse import sign_in
from tests.outlets.site.live.capturing import make_capture, samples

from isohume.outlets.site.captures.actions.choose_notices import ChooseNotices
from isohume.outlets.site.captures.live_state import live_page
from isohume.outlets.site.captures.models import Expected, InstrumentState, NoticeChoice
from isohume.outlets.site.checks.models import StartSheet
from isohume.outlets.site.ledger.actions import perform
from isohume.outlets.site.people.roles import Role

JSON = {"Accept": "application/json"}


@pytest.fixture
def shift(site_db: Path, monkeypatch: pytest.MonkeyPatch) -> Shift:
    monkeypatch.setattr(timezone, "now", lambda: NOW)
    return make_shift()


@pytest.fixture
def analyst(client: Client, shift: Shift) -> Client:
    sign_in(client, shift.analyst)
    return client


def sheet(shift: Shift, warm_min: float, block: str = "25.1") -> StartSheet:
    """A start sheet of today."""
    return StartSheet.objects.create(
        instrument=shift.bench.instrument,
        method_version=shift.bench.method,
        room_temperature_c="21.0",
        room_rh_percent="45",
        warmed_up_since=NOW - timedelta(minutes=warm_min),
        block_temperature_c=block,
        may_start=True,
        at=NOW - timedelta(minutes=2),
        by=shift.analyst,
    )


@pytest.mark.parametrize(
    ("warm_min", "said", "warm", "block"),
    [
        (12, "", ("warming up: 12 min of 30 min", "wait"), ("block 25.1 °C, within", "pass")),
        (95, "24.4", ("warm for 1 h 35 min; it asks 30 min", "pass"), ("block 24.4 °C, outside", "hold")),
        (30, "25.5", ("warm for 30 min; it asks 30 min", "pass"), ("block 25.5 °C, within", "pass")),
    ],
)
def test_warm_up_and_block_against_the_method(
    shift: Shift, warm_min: float, said: str, warm: tuple[str, str], block: tuple[str, str]
) -> None:
    """At the edge of the band itself the block is within it, as on the start sheet."""
    sheet(shift, warm_min)
    if said:
        instrument = shift.bench.instrument
        InstrumentState.objects.create(instrument=instrument, state="ready", block_temperature_c=said, at=NOW)
    (bay,) = live_page(shift.analyst.site, shift.analyst, NOW).bays
    assert bay.warm == warm
    assert (bay.block[0].startswith(block[0]), bay.block[1]) == (True, block[1]), bay.block
    assert bay.block[0].endswith("the method's 25.0 °C ± 0.5 °C")


def test_without_a_start_sheet_that_is_said(shift: Shift) -> None:
    (bay,) = live_page(shift.analyst.site, shift.analyst, NOW).bays
    assert bay.warm == ("no start sheet in the last 24 h; it asks 30 min to warm up", "unknown")
    assert bay.block == ("block not known; the method asks 25.0 °C ± 0.5 °C", "unknown")


def test_an_instrument_out_of_use_has_no_card(shift: Shift, analyst: Client) -> None:
    make.make_instrument(shift.analyst.site, "OW-7", in_use=False)
    page = words(analyst.get(reverse("live")))
    assert "OW-1" in page
    assert "OW-7" not in page


def test_waiting_cups_and_bottles_may_be_next(shift: Shift, analyst: Client) -> None:
    cup = shift.portion(shift.sample(portions=1))
    old = make.make_bottle(shift.analyst.site, "KCl", code="9")
    old.discarded_at = NOW
    old.save()
    found = dict(live_page(shift.analyst.site, shift.analyst, NOW).choices)
    assert found[cup.scan_code] == f"{cup}, Soft oat bar"
    assert old.scan_code not in found
    assert any(code.startswith("iso:b:") for code in found)
    page = words(analyst.get(reverse("live")))
    assert f"{cup} Soft oat bar" in page
    assert "lidded" in page


def test_what_is_next_is_said_and_refusals_come_in_json(shift: Shift, analyst: Client) -> None:
    cup, instrument = shift.portion(shift.sample(portions=1)), shift.bench.instrument
    asked = {"instrument": instrument.scan_code, "choice": cup.scan_code}
    answer = analyst.post(reverse("live_next"), asked, headers=JSON)
    assert (answer.status_code, answer.json()["done"]) == (200, True)
    assert answer.json()["said"].endswith("start the run now.")
    assert Expected.objects.get().portion == cup
    for field, typed in (("of", "iso:p:99999"), ("of", "SB-1"), ("of", ""), ("instrument", "iso:i:99999")):
        answer = analyst.post(
            reverse("live_next"), {**asked, "choice": "", "of": cup.scan_code, field: typed}, headers=JSON
        )
        assert (answer.status_code, list(answer.json()["errors"])) == (422, [field]), (field, typed)
    plain = analyst.post(reverse("live_next"), {**asked, "choice": "", "of": "SB-1"})
    assert plain.status_code == 422
    assert "read 'SB-1'; allowed: the code of a cup or a bottle" in words(plain)


def test_a_run_is_accepted_or_voided_only_by_its_own_plant(shift: Shift, analyst: Client) -> None:
    run = make_capture(shift.analyst).start(shift.bench.instrument)
    other = make.make_site("quiet-mill")
    stranger = Client()
    sign_in(stranger, make.make_person(other, *Role, username="mallory"))
    for act in ("accept", "void"):
        assert stranger.post(reverse("live_act", args=[run.pk, act]), headers=JSON).status_code == 404
        answer = analyst.post(reverse("live_act", args=[run.pk, act]), headers=JSON)
        assert answer.status_code == 422
        assert answer.json()["reasons"] or answer.json()["errors"]
        assert analyst.get(reverse("live_act", args=[run.pk, act])).status_code == 405
    assert stranger.post(reverse("live_next"), {"run": run.pk, "of": "iso:p:1"}, headers=JSON).status_code == 404


def test_an_ended_run_of_a_cup_is_accepted_with_the_value_of_its_trace(shift: Shift, analyst: Client) -> None:
    bench, cup = make_capture(shift.analyst), shift.portion(shift.sample(portions=1))
    run = bench.start(shift.bench.instrument, at=NOW - timedelta(minutes=6))
    run.portion, run.assigned_at, run.assigned_by = cup, NOW, shift.analyst
    bench.read(run, samples("0.6330", last=330))
    bench.end(run)
    run.ended_at = NOW
    run.save()
    answer = analyst.post(reverse("live_act", args=[run.pk, "accept"]), headers=JSON)
    assert answer.status_code == 200, answer.json()
    run.refresh_from_db()
    assert run.run is not None
    assert run.run.a_w in {f"{one.a_w}" for one in samples("0.6330", last=330)}
    assert f"Accepted: run {run.run.pk} of {cup}, {run.run.a_w}" in answer.json()["said"]


def test_how_to_be_told_is_kept_for_the_person_alone(shift: Shift, analyst: Client) -> None:
    assert not live_page(shift.analyst.site, shift.analyst, NOW).sound, "nothing is chosen to begin with"
    assert analyst.post(reverse("live_notices"), {"sound": "on"}, headers=JSON).status_code == 200
    choice = NoticeChoice.objects.get()
    assert (choice.person, choice.sound, choice.browser) == (shift.analyst, True, False)
    perform(ChooseNotices(shift.analyst, browser=True), shift.by())
    choice.refresh_from_db()
    assert (choice.sound, choice.browser) == (False, True)
    assert not live_page(shift.analyst.site, shift.bench.manager, NOW).browser


def test_the_page_takes_as_many_questions_however_much_there_is(shift: Shift, analyst: Client) -> None:
    def asked() -> int:
        with CaptureQueriesContext(connection) as queries:
            assert analyst.get(reverse("live")).status_code == 200
        return len(queries)

    shift.portion(shift.sample(portions=1))
    few = asked()
    for number in range(12):
        shift.portion(shift.sample(shift.lot(f"SB-{number}"), portions=2))
        make.make_instrument(shift.analyst.site, f"M-{number}")
    assert asked() <= few + 1
