"""Today: what may be measured now, what waits, what is wrong; in a fixed number of queries, whatever waits."""

from __future__ import annotations

import re
from datetime import date, datetime, timedelta
from html import unescape
from pathlib import Path
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from tests.outlets.site import make
from tests.outlets.site.checks.day import BACKEND, NOW, Day, make_day, make_runs

from isohume.foundation.quantity.errors import InputError
from isohume.outlets.site.bench.actions.hand_over import WriteHandOver
from isohume.outlets.site.bench.models import HandOver, Lot, Portion, Run, Sample, SecondKeying
from isohume.outlets.site.bench.today import today_of
from isohume.outlets.site.ledger.actions import Refused, perform
from isohume.outlets.site.ledger.trail import trail_of
from isohume.outlets.site.lots.actions.open_deviation import OpenDeviation

MOST_QUERIES = 36
SCRIPT = '<script>alert("x")</script>'


@pytest.fixture
def day(site_db: Path) -> Day:
    """A plant whose instrument was started and checked this morning."""
    found = make_day()
    found.start()
    found.check()
    return found


@pytest.fixture
def bench(day: Day, client: Client, monkeypatch: pytest.MonkeyPatch) -> Client:
    """The analyst's browser, with the server's clock at the day's nine o'clock."""
    monkeypatch.setattr("django.utils.timezone.now", lambda: NOW)
    client.force_login(day.analyst, BACKEND)
    return client


def words_of(response: Any) -> str:
    """The words of a page, without its marks."""
    return " ".join(unescape(re.sub(r"<[^>]+>", " ", response.content.decode())).split())


def a_cup(day: Day, code: str, **more: Any) -> Portion:
    """A cup of a lot of its own that waits to be read."""
    product = day.site.products.first() or make.make_product(day.method)
    lot = Lot.objects.create(
        site=day.site, code=code, key=code.casefold(), product=product, specification=product.specification,
        received_at=NOW - timedelta(hours=2), entered_at=NOW, by=day.analyst,
    )  # fmt: skip
    sample = Sample.objects.create(
        lot=lot, code="1", position="start", sealed=True, received_at=NOW - timedelta(hours=2), by=day.analyst
    )
    given = {"code": "A", "cover": "lidded", "covered_at": NOW - timedelta(hours=1), **more}
    return Portion.objects.create(sample=sample, prepared_at=NOW - timedelta(hours=1), by=day.analyst, **given)


def test_a_new_plant_is_told_what_to_do_first(bench: Client, client: Client) -> None:
    empty = make.make_site("elm-mill")
    client.force_login(make.make_person(empty, *make.Role, username="otto"), BACKEND)
    words = words_of(client.get(reverse("today")))
    assert "this bench is new" in words
    assert "First register an instrument" in words


def test_the_answer_says_what_may_be_measured_what_waits_and_what_is_wrong(bench: Client, day: Day) -> None:
    a_cup(day, "SB-1")
    page = bench.get(reverse("today"))
    assert "OW-1 may measure; 1 cup waiting; deviations: none" in words_of(page)
    assert "1 × Soft oat bar: 0.632" in page.content.decode()  # where the sample is expected, on the line
    assert "23 h 00 min left" in page.content.decode()


def test_an_instrument_that_may_not_measure_or_not_for_long_is_to_be_checked(
    bench: Client, day: Day, monkeypatch: pytest.MonkeyPatch
) -> None:
    make.make_instrument(day.site, "OW-2")
    make.make_instrument(day.site, "OW-3", in_use=False)
    page = bench.get(reverse("today")).content.decode()
    assert re.findall(r">Check (OW-\d)<", page) == ["OW-2"]
    monkeypatch.setattr("django.utils.timezone.now", lambda: NOW + timedelta(hours=21, minutes=30))
    bench.force_login(day.analyst, BACKEND)  # the morning's session is over
    later = bench.get(reverse("today"))
    assert re.findall(r">Check (OW-\d)<", later.content.decode()) == ["OW-1", "OW-2"]
    assert "may measure, 1 h 30 min left" in words_of(later)


def test_cups_are_listed_by_the_time_they_have_left_those_over_it_first(day: Day) -> None:
    a_cup(day, "LIDDED")
    a_cup(day, "OVER", cover="open", covered_at=NOW - timedelta(minutes=25))
    a_cup(day, "OPEN", cover="open", covered_at=NOW - timedelta(minutes=4))
    a_cup(day, "FILM", cover="film-wrapped", covered_at=NOW - timedelta(hours=30))
    a_cup(day, "READ", done=True)
    found = today_of(day.site, day.analyst, NOW)
    assert [cup.portion.sample.lot.code for cup in found.cups] == ["OVER", "OPEN", "LIDDED", "FILM"]
    assert found.over == 1
    assert found.shape == "hold"


def test_a_warm_cup_says_when_it_is_ready(day: Day) -> None:
    # by Newton's law from 29.0 to 25.5 degC (limit 0.5 K, time constant 20 min): 20 ln 8 = 41.6 min, 11.6 are left
    a_cup(day, "WARM", temperature_c="29.0", temperature_at=NOW - timedelta(minutes=30))
    a_cup(day, "READY", temperature_c="25.2", temperature_at=NOW - timedelta(minutes=2))
    warm, ready = sorted(today_of(day.site, day.analyst, NOW).cups, key=lambda cup: cup.portion.pk)
    assert warm.tempering is not None
    assert ready.tempering is not None
    assert warm.tempering.minutes_left == pytest.approx(11.6, abs=0.05)
    assert not warm.tempering.ready
    assert ready.tempering.ready


def waits_of(day: Day) -> dict[str, list[str]]:
    """What waits for what, by lot code."""
    return {group.what: [lot.code for lot in group.lots] for group in today_of(day.site, day.analyst, NOW).lots}


def test_each_lot_waits_for_the_next_thing_it_needs(day: Day) -> None:
    a_cup(day, "CUP")
    check = day.instrument.checks.get()
    _, *twice = make_runs(day, check, "TYPED", "KEYED", "JUDGED", "HELD", "GONE")
    _, judged, held, gone = twice
    for lot in twice:
        run = Run.objects.get(portion__sample__lot=lot)
        SecondKeying.objects.create(run=run, a_w="0.631", agrees=True, words="agree", at=NOW, by=day.manager)
    for lot, state in ((judged, "judged"), (held, "on hold"), (gone, "released")):
        lot.state = state
        lot.save()
    bare = make_runs(day, check, "NO CUP")[0]
    Run.objects.filter(portion__sample__lot=bare).delete()
    Portion.objects.filter(sample__lot=bare).delete()
    assert waits_of(day) == {
        "a run": ["CUP"],
        "a second keying": ["TYPED"],
        "judging": ["TYPED", "KEYED"],
        "a signature": ["JUDGED"],
        "a decision": ["HELD"],
        "a cup": ["NO CUP"],
    }
    Sample.objects.filter(lot=bare).delete()
    assert waits_of(day)["a sample"] == ["NO CUP"]


def test_a_keying_that_differs_keeps_the_lot_waiting_and_a_void_run_does_not(day: Day) -> None:
    check = day.instrument.checks.get()
    differs, void = make_runs(day, check, "DIFFERS", "VOID")
    run = Run.objects.get(portion__sample__lot=differs)
    SecondKeying.objects.create(run=run, a_w="0.613", agrees=False, words="differ", at=NOW, by=day.manager)
    Run.objects.filter(portion__sample__lot=void).update(void_reason="cup tipped over")
    waits = waits_of(day)
    assert waits["a second keying"] == ["DIFFERS"]
    assert waits["judging"] == ["DIFFERS"]
    assert waits["a cup"] == ["VOID"]


def test_a_failed_check_is_two_clicks_away_and_keyings_that_differ_lead_to_their_run(bench: Client, day: Day) -> None:
    failed = day.check(NOW - timedelta(minutes=20), nacl="0.7400")
    lot = make_runs(day, day.instrument.checks.first(), "SB-7")[0]
    run = Run.objects.get(portion__sample__lot=lot)
    perform(OpenDeviation(day.site, "keyings differ", "Run keyed 0.631 and 0.613", run=run), day.by())
    page = bench.get(reverse("today"))
    links = re.findall(r'href="([^"]+)"', page.content.decode())
    assert reverse("check", args=[failed.pk]) in links
    assert reverse("run", args=[run.pk]) in links
    assert reverse("deviations") in links  # closed ones are found from there
    assert "deviations: 2 open" in words_of(page)
    assert "No instrument may measure now" in words_of(page)


def test_an_instrument_that_read_samples_is_to_be_closed_with_a_check_after_the_last_one(day: Day) -> None:
    def open_still() -> list[tuple[str, int]]:
        found = today_of(day.site, day.analyst, NOW + timedelta(hours=8))
        return [(standing.instrument.name, runs) for standing, runs in found.not_closed]

    check = day.instrument.checks.get()
    assert open_still() == []
    make_runs(day, check, "SB-1", "SB-2")
    Run.objects.filter(portion__sample__lot=make_runs(day, check, "SB-3")[0]).update(void_reason="cup tipped over")
    assert open_still() == [("OW-1", 2)]
    day.check(NOW + timedelta(hours=7), kind="closing")
    assert open_still() == []
    make_runs(day, check, "SB-4", at=NOW + timedelta(hours=7, minutes=30))
    assert open_still() == [("OW-1", 3)]


def test_the_hand_over_note_of_the_last_shift_stands_until_the_next(bench: Client, day: Day) -> None:
    assert "No note was left yet" in words_of(bench.get(reverse("today")))
    assert bench.post(reverse("hand_over_new"), {"text": "KCl dish\r\nleft open"})["Location"] == reverse("today")
    page = words_of(bench.get(reverse("today")))
    assert "KCl dish left open" in page
    assert "within the hour" in page
    bench.post(reverse("hand_over_new"), {"text": SCRIPT})
    for name in ("today", "hand_over_new"):
        shown = bench.get(reverse(name)).content.decode()
        assert SCRIPT not in shown
        assert "&lt;script&gt;" in shown
    note = HandOver.objects.first()
    assert note is not None
    assert trail_of(note.ref)[-1].kind == "hand_over_written"


def test_a_note_is_refused_empty_too_long_by_an_auditor_and_from_another_plant(bench: Client, day: Day) -> None:
    empty = bench.post(reverse("hand_over_new"), {"text": "  "})
    assert empty.status_code == 422
    assert "what the next shift must know" in words_of(empty)
    with pytest.raises(InputError, match="at most 1000 characters"):
        perform(WriteHandOver(day.site, "x" * 1001), day.by())
    with pytest.raises(Refused, match="this is for"):
        perform(WriteHandOver(day.site, "note"), day.by(person=day.auditor))
    with pytest.raises(Refused, match="another plant"):
        perform(WriteHandOver(make.make_site("elm-mill"), "note"), day.by())
    assert not HandOver.objects.exists()


def test_what_is_due_in_the_next_days_is_listed_and_nothing_later(bench: Client, day: Day) -> None:
    day.instrument.calibration_due = date(2026, 9, 20)
    day.instrument.save()
    page = words_of(bench.get(reverse("today")))
    assert "Calibration of OW-1" in page
    day.instrument.calibration_due = date(2026, 9, 30)
    day.instrument.save()
    assert "Calibration of OW-1" not in words_of(bench.get(reverse("today")))


def queries_of(bench: Client) -> int:
    """How many statements the whole page takes."""
    with CaptureQueriesContext(connection) as queries:
        assert bench.get(reverse("today")).status_code == 200
    return len(queries)


def test_the_page_takes_few_queries_however_much_waits(bench: Client, day: Day) -> None:
    bench.get(reverse("today"))
    bare = queries_of(bench)
    for n in range(20):
        a_cup(day, f"W-{n}", temperature_c="27.0", temperature_at=NOW - timedelta(minutes=9))
        make.make_instrument(day.site, f"OW-{n + 10}")
        perform(OpenDeviation(day.site, "hold", f"found {n}"), day.by())
        make.make_bottle(day.site, "NaCl", code=f"b{n}")
    make_runs(day, day.instrument.checks.get(), *(f"R-{n}" for n in range(20)))
    full = queries_of(bench)
    assert full <= MOST_QUERIES
    assert full <= bare + 2, "the temperatures of cups are asked only where cups wait"


def test_another_plants_things_are_not_on_the_page(bench: Client, day: Day, client: Client) -> None:
    a_cup(day, "SB-SECRET")
    perform(WriteHandOver(day.site, "secret note"), day.by())
    other = make.make_site("elm-mill")
    make.make_instrument(other, "EM-1")
    client.force_login(make.make_person(other, *make.Role, username="otto"), BACKEND)
    page = client.get(reverse("today")).content.decode()
    assert "SB-SECRET" not in page
    assert "secret note" not in page
    assert "OW-1" not in page


def test_a_moment_in_the_past_sees_only_what_was_written_by_then(day: Day) -> None:
    perform(WriteHandOver(day.site, "later"), day.by(NOW + timedelta(hours=1)))
    assert today_of(day.site, day.analyst, NOW).hand_over is None
    later: datetime = NOW + timedelta(hours=2)
    found = today_of(day.site, day.analyst, later).hand_over
    assert found is not None
    assert found.text == "later"
