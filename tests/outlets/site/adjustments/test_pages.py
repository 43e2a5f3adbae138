"""The pages of adjustments: the answer first, each step to its page, what is refused with its reason, text escaped."""

from __future__ import annotations

import re
from datetime import timedelta
from html import unescape
from typing import Any

from django.test import Client
from django.urls import reverse
from tests.outlets.site import make
from tests.outlets.site.adjustments.bench import BACKEND, LOW, NOW, Morning

from isohume.outlets.site.adjustments.models import Correction, CorrectionCaps, FreshPortion, InstrumentAdjustment

SEVEN = NOW - timedelta(hours=2)
MINUTE = timedelta(minutes=1)
SCRIPT = '<script>alert("x")</script>'


def text_of(response: Any) -> str:
    """The words of a page, without its marks."""
    return " ".join(unescape(re.sub(r"<[^>]+>", " ", response.content.decode())).split())


def test_the_sequence_says_what_is_done_what_comes_next_and_what_is_refused(manager: Client, morning: Morning) -> None:
    failed = morning.check(SEVEN, LOW)
    morning.check(SEVEN + 10 * MINUTE, LOW)
    page = manager.get(reverse("check_sequence", args=[failed.pk]))
    words = text_of(page)
    assert "What comes next after failed check 1 of OW-1?" in words
    assert "done Repeat the check once" in words
    assert "not now Only then adjust" in words
    assert "No cleaning is logged after check 1 failed: clean first" in words
    shown = page.content.decode()
    for step in (f"{reverse('cleaning_new')}?instrument={morning.instrument.pk}", "#fresh-portion"):
        assert f'href="{step}"' in shown or step in shown
    assert reverse("instrument_act", args=[morning.instrument.pk, "withdraw"]) in shown
    assert reverse("adjustments", args=[morning.instrument.pk]) not in shown


def test_the_sequence_of_a_repeat_is_that_of_the_first_failure(manager: Client, morning: Morning) -> None:
    morning.check(SEVEN, LOW)
    again = morning.check(SEVEN + 10 * MINUTE, LOW)
    assert "after failed check 1 of OW-1" in text_of(manager.get(reverse("check_sequence", args=[again.pk])))
    assert reverse("check_sequence", args=[again.pk]) in manager.get(again.get_absolute_url()).content.decode()


def test_when_all_was_done_it_leads_to_adjusting_and_then_to_the_as_left_check(
    manager: Client, morning: Morning
) -> None:
    last = morning.fail_carefully(SEVEN)
    at = reverse("check_sequence", args=[last.pk])
    assert reverse("adjustments", args=[morning.instrument.pk]) in manager.get(at).content.decode()
    morning.adjust(last, SEVEN + 60 * MINUTE)
    assert "may be done Read the as-left check" in text_of(manager.get(at))
    morning.check(SEVEN + 70 * MINUTE)
    words = text_of(manager.get(at))
    assert "It passed again: check 5" in words
    assert "Log this fresh portion" not in words


def test_a_passed_check_and_another_plants_have_no_sequence(manager: Client, morning: Morning, client: Client) -> None:
    good = morning.check(SEVEN)
    assert manager.get(reverse("check_sequence", args=[good.pk])).status_code == 404
    failed = morning.check(SEVEN + 10 * MINUTE, LOW)
    stranger = make.make_person(make.make_site("elsewhere"), *morning.manager.roles, username="stranger")
    client.force_login(stranger, BACKEND)
    for name, key in (("check_sequence", failed.pk), ("adjustments", morning.instrument.pk)):
        assert client.get(reverse(name, args=[key])).status_code == 404


def test_a_fresh_portion_is_logged_there(manager: Client, morning: Morning) -> None:
    failed = morning.check(SEVEN, LOW)
    at = reverse("fresh_portion", args=[failed.pk])
    bad = manager.post(at, {"bottle": "no such bottle", "at": ""})
    assert bad.status_code == 422
    assert "no such bottle" in bad.content.decode()
    assert manager.post(at, {"bottle": morning.salt.scan_code, "at": ""}).status_code == 302
    assert FreshPortion.objects.get().bottle == morning.salt
    words = text_of(manager.get(reverse("check_sequence", args=[failed.pk])))
    assert "It was poured, and is not read yet." in words


def form(last: Any, **more: str) -> dict[str, str]:
    """The form of an adjustment as a manager fills it in."""
    return {
        "kind": "adjustment", "as_found": str(last.pk), "what": "zero and span", "done_by": "M. Farrow",
        "reason": "reads low on two lots", "at": "", **more,
    }  # fmt: skip


def test_an_adjustment_is_recorded_and_shown_as_found_and_as_left(manager: Client, morning: Morning) -> None:
    last = morning.fail_carefully(SEVEN)
    at = reverse("adjustment_new", args=[morning.instrument.pk])
    assert "Record an adjustment" in text_of(manager.get(at))
    report = {"reference_1": "NaCl 0.753", "as_found_1": "0.7411", "as_left_1": "0.7531"}
    assert manager.post(at, form(last, what=SCRIPT, at="2026-09-16T09:10", **report)).status_code == 302
    shown = manager.get(reverse("adjustments", args=[morning.instrument.pk]))
    assert "not read yet: no standing" in text_of(shown)
    assert SCRIPT not in shown.content.decode()
    left = morning.check(SEVEN + 75 * MINUTE, {"Mg(NO3)2": -0.0005, "NaCl": 0.0010})
    words = text_of(manager.get(reverse("adjustments", args=[morning.instrument.pk])))
    assert f"check {left.pk}" in words
    assert "NaCl saturated 0.7530 0.7410 -0.0120 0.7540 +0.0010 our checks" in words
    assert "NaCl 0.753 – 0.7411 – 0.7531 – the report" in words
    assert "+0.0130 in all, within the cap of 0.02" in words
    assert InstrumentAdjustment.objects.get().what == SCRIPT


def test_a_refused_adjustment_says_why_before_anything_is_typed(manager: Client, morning: Morning) -> None:
    failed = morning.check(SEVEN, LOW)
    page = manager.get(reverse("adjustment_new", args=[morning.instrument.pk]))
    assert "not possible now" in text_of(page)
    assert "No cleaning is logged" in text_of(page)
    typed = manager.post(reverse("adjustment_new", args=[morning.instrument.pk]), form(failed))
    assert typed.status_code == 422
    assert not InstrumentAdjustment.objects.exists()


def test_a_correction_is_looked_at_signed_shown_and_ended(manager: Client, morning: Morning) -> None:
    last = morning.fail_carefully(SEVEN)
    at = reverse("correction_new", args=[morning.instrument.pk])
    page = manager.get(at)
    assert "Version 1:" in text_of(page)
    assert "b1" in text_of(page)
    wrong = manager.post(at, {"check": last.pk, "reason": "no service", "password": "wrong"})
    assert wrong.status_code == 422
    assert "nothing was signed" in wrong.content.decode()
    made = manager.post(at, {"check": last.pk, "reason": "no service", "password": make.PASSWORD})
    correction = Correction.objects.get()
    assert made["Location"] == reverse("correction", args=[correction.pk])
    assert "Those from 2026-09-16 10:00 on" in text_of(manager.get(made["Location"]))
    listed = text_of(manager.get(reverse("adjustments", args=[morning.instrument.pk])))
    assert "Version 1" in listed
    assert "in force" in listed
    ended = manager.post(
        reverse("correction_end", args=[correction.pk]), {"reason": "repaired", "password": make.PASSWORD}
    )
    assert ended.status_code == 302
    assert "to 2026-09-16 10:00" in text_of(manager.get(made["Location"]))


def test_a_correction_page_without_a_check_and_with_what_stands_against_it(manager: Client, morning: Morning) -> None:
    at = reverse("correction_new", args=[morning.instrument.pk])
    assert "Check the instrument first." in text_of(manager.get(at))
    morning.check(SEVEN, LOW)
    assert "No cleaning is logged" in text_of(manager.get(at))


def test_the_caps_of_a_method(manager: Client, morning: Morning) -> None:
    at = reverse("correction_caps", args=[morning.method.method.pk])
    assert "How far may a correction go" in text_of(manager.get(at))
    typed = {"offset": "0.01", "slope": "0.03", "walk": "0.012", "reason": SCRIPT}
    assert manager.post(at, typed).status_code == 302
    assert CorrectionCaps.objects.get().walk == "0.012"
    assert manager.post(at, {**typed, "slope": "0.2"}).status_code == 422


def test_the_lot_page_shows_raw_and_corrected(manager: Client, morning: Morning) -> None:
    from tests.outlets.site.adjustments.test_correcting import judge, read_lot

    morning.correct(morning.fail_carefully(SEVEN), SEVEN + 60 * MINUTE)
    left = morning.check(SEVEN + 70 * MINUTE, LOW)
    lot = read_lot(morning, left, SEVEN + 80 * MINUTE, "SB-1", "0.6320", "0.6336")
    record = judge(morning, lot, NOW)
    words = text_of(manager.get(reverse("lot", args=[lot.pk])))
    assert re.search(r"0\.6320 corrected 0\.642\d\d", words)
    assert "correction 1 of OW-1" in words
    assert manager.get(reverse("record", args=[record.record])).status_code == 200
    check = text_of(manager.get(left.get_absolute_url()))
    assert "Judged with correction 1 of OW-1" in check


def test_the_instrument_leads_to_its_adjustments(manager: Client, morning: Morning) -> None:
    page = manager.get(reverse("instrument", args=[morning.instrument.pk])).content.decode()
    assert reverse("adjustments", args=[morning.instrument.pk]) in page
