"""The pages of checks: the answer first, what was typed kept, another plant not found, script text escaped."""

from __future__ import annotations

import re
from datetime import date, timedelta
from html import unescape
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse
from tests.outlets.site import make
from tests.outlets.site.checks.day import BACKEND, NOW, Day, make_runs

from isohume.outlets.site.checks.actions.record_check import RecordCheck
from isohume.outlets.site.checks.models import Check
from isohume.outlets.site.ledger.actions import perform
from isohume.outlets.site.lots.models import Deviation
from isohume.outlets.site.register.models import Bottle, SolutionLot

SCRIPT = '<script>alert("x")</script>'
AT = NOW - timedelta(hours=1)


def text_of(response: Any) -> str:
    """The words of a page, without its marks."""
    return " ".join(unescape(re.sub(r"<[^>]+>", " ", response.content.decode())).split())


def typed(day: Day, nacl: str = "0.7524", **more: str) -> dict[str, str]:
    """The form of an opening check as an analyst fills it in."""
    return {
        "instrument": "OW-1",
        "method_version": str(day.method.pk),
        "kind": "opening",
        "bottle_1": f"iso:b:{day.mgcl2.pk}",
        "temperature_c_1": "25.0",
        "a_w_1": "0.3281",
        "read_at_1": "2026-09-16T09:00",
        "bottle_2": "NaCl-26-04 / 1",
        "temperature_c_2": "25.0",
        "a_w_2": nacl,
        "read_at_2": "2026-09-16T09:06",
        "note": "",
        **more,
    }


@pytest.mark.parametrize("name", ["checks", "check_new", "start_sheet", "cleaning_new"])
def test_the_pages_of_an_empty_bench_say_what_to_do_first(bench: Client, day: Day, name: str) -> None:
    response = bench.get(reverse(name))
    assert response.status_code == 200
    assert response.content.decode().count("<h1") == 1


@pytest.mark.parametrize("name", ["checks", "check_new", "start_sheet", "cleaning_new"])
def test_nobody_sees_them_without_signing_in(client: Client, day: Day, name: str) -> None:
    response = client.get(reverse(name))
    assert response.status_code == 302
    assert response["Location"].startswith(reverse("sign_in"))


def test_the_checks_page_answers_which_instrument_tells_the_truth(bench: Client, day: Day) -> None:
    assert "None may measure now" in text_of(bench.get(reverse("checks")))
    day.start()
    check = day.check()
    response = bench.get(reverse("checks"))
    words = text_of(response)
    assert "OW-1 may measure" in words
    assert "23 h 00 min left" in words
    assert reverse("check", args=[check.pk]) in response.content.decode()
    assert "<svg" in response.content.decode()


def test_a_check_is_typed_judged_and_shown(bench: Client, day: Day) -> None:
    day.start()
    response = bench.post(reverse("check_new"), typed(day))
    check = Check.objects.get()
    assert response["Location"] == reverse("check", args=[check.pk])
    assert check.by == day.analyst
    page = bench.get(response["Location"])
    words = text_of(page)
    assert "Yes, between 0.3279 and 0.7530" in words
    assert "0.7524" in words
    assert "close the day with a closing check" in words
    assert reverse("solutionlot", args=[day.nacl.solution_lot.pk]) in page.content.decode()
    for formula in ("a_w = exp(-nu m M_w phi)", "E_n = deviation / (2 u)", "mean(read) = offset + slope"):
        assert formula in words


def test_a_failed_check_leads_to_its_deviation_its_reasons_and_the_next_acts_in_order(bench: Client, day: Day) -> None:
    day.start()
    bench.post(reverse("check_new"), typed(day, nacl="0.3283"))
    check, deviation = Check.objects.get(), Deviation.objects.get()
    page = bench.get(reverse("check", args=[check.pk]))
    words = text_of(page)
    assert "No: the check failed" in words
    assert "hold MgCl2 saturated?" in words
    assert reverse("deviation", args=[deviation.pk]) in page.content.decode()
    order = [
        "Repeat the check once",
        "fresh portion",
        "Clean chamber",
        "Repeat the check.",
        "second lot",
        "Only then adjust",
    ]
    places = [words.index(step) for step in order]
    assert places == sorted(places)


def test_the_steps_done_after_a_failure_are_marked(bench: Client, day: Day) -> None:
    day.start()
    failed = day.check(AT, nacl="0.7400")
    bench.post(reverse("cleaning_new"), {"instrument": "OW-1", "what": "chamber wiped", "at": "2026-09-16T09:30"})
    day.check(NOW - timedelta(minutes=25), nacl="0.7410")
    at = reverse("check", args=[failed.pk])
    words = text_of(bench.get(at))
    for step in ("Repeat the check once", "Clean chamber", "Repeat the check."):
        assert f"done {step}" in words
    for step in ("Read a fresh portion", "Read a second lot", "Only then adjust"):  # what is not known is not said
        assert f"done {step}" not in words
        assert step in words
    # once more without a step in between is refused: the seal is cleaned too
    bench.post(reverse("cleaning_new"), {"instrument": "OW-1", "what": "seal washed", "at": "2026-09-16T09:44"})
    again = day.check(NOW - timedelta(minutes=12))
    words = text_of(bench.get(at))
    assert f"OW-1 passed again: check {again.pk}" in words
    assert "Only then adjust" not in words
    assert "Decide about the lots read since the last good check" in words


def test_a_second_lot_read_after_a_failure_is_marked(bench: Client, day: Day) -> None:
    day.start()
    failed = day.check(AT, nacl="0.7400")
    other = make.make_bottle(day.site, "NaCl", code="2")
    other.solution_lot = SolutionLot.objects.create(
        site=day.site, code="NaCl-26-08", solution="NaCl", made_on=date(2026, 8, 1), expires_on=date(2027, 8, 1)
    )
    other.save()
    rows = [*day.rows(AT + timedelta(minutes=20), nacl="0.7400")]
    rows[1]["bottle"] = other
    perform(RecordCheck(day.instrument, "opening", day.method, rows), day.by())
    assert "done Read a second lot" in text_of(bench.get(reverse("check", args=[failed.pk])))


def test_lots_protected_by_a_check_and_lots_at_risk_of_a_failed_one(bench: Client, day: Day) -> None:
    day.start()
    good = day.check()
    first, second = make_runs(day, good, "SB-0916-1", "SB-0916-2", at=NOW - timedelta(minutes=30))
    failed = day.check(NOW - timedelta(minutes=12), kind="closing", nacl="0.7400")
    for check, said in ((good, "Lots this check protects"), (failed, "Read since the last good check")):
        page = bench.get(reverse("check", args=[check.pk]))
        assert said in text_of(page)
        for lot in (first, second):
            assert reverse("lot", args=[lot.pk]) in page.content.decode()
    assert "Read since" not in text_of(bench.get(reverse("check", args=[good.pk])))


def test_what_was_typed_stays_and_the_error_stands_at_its_field(bench: Client, day: Day) -> None:
    day.start()
    response = bench.post(reverse("check_new"), typed(day, nacl="75.24", note="as found"))
    page = response.content.decode()
    assert response.status_code == 422
    assert 'value="75.24"' in page
    assert 'value="as found"' in page
    error = re.search(r'id="a_w_2-error"[^>]*>(.*?)</span></span>', page, re.DOTALL)
    assert error is not None
    assert "was ERH in percent meant" in error[1]
    assert not Check.objects.exists()


@pytest.mark.parametrize(
    ("change", "field", "said"),
    [
        ({"bottle_2": "iso:b:999999"}, "bottle_2", "a bottle of this plant"),
        ({"bottle_2": "1"}, "bottle_2", "this may be"),
        ({"bottle_2": ""}, "bottle_2", "scanned or picked"),
        ({"instrument": "OW-9"}, "instrument", "an instrument of this plant"),
        ({"method_version": "x"}, "method_version", "a method of this plant"),
        ({"kind": "midday"}, "kind", "one of opening, closing"),
        ({"temperature_c_1": ""}, "temperature_c_1", "it is blank"),
        ({"read_at_1": "2026-09-16T23:00"}, "read_at_1", "a time that has passed"),
    ],
)
def test_each_bad_field_of_the_check_is_named(
    bench: Client, day: Day, change: dict[str, str], field: str, said: str
) -> None:
    day.start()
    response = bench.post(reverse("check_new"), typed(day, **change))
    assert response.status_code == 422
    error = re.search(rf'id="{field}-error"[^>]*>(.*?)</span></span>', response.content.decode(), re.DOTALL)
    assert error is not None
    assert said in unescape(error[1])


def test_a_refusal_is_shown_with_what_was_typed(bench: Client, day: Day) -> None:
    response = bench.post(reverse("check_new"), typed(day))
    assert response.status_code == 422
    assert "There is no start sheet of OW-1 for this day" in text_of(response)
    assert 'value="0.7524"' in response.content.decode()


def test_a_third_reference_is_read_in_the_further_rows(bench: Client, day: Day) -> None:
    day.start()
    kcl = make.make_bottle(day.site, "KCl")
    more = {
        "bottle_3": f"iso:b:{kcl.pk}",
        "temperature_c_3": "25.0",
        "a_w_3": "0.8430",
        "read_at_3": "2026-09-16T09:12",
    }
    bench.post(reverse("check_new"), typed(day, **more))
    assert Check.objects.get().readings.count() == 3
    bad = bench.post(reverse("check_new"), typed(day, **{**more, "a_w_3": "x"}))
    assert "<details open>" in bad.content.decode()


def test_the_form_starts_with_what_the_day_knows(bench: Client, day: Day) -> None:
    at = f"{reverse('check_new')}?instrument={day.instrument.pk}"
    assert "No start sheet of today yet for OW-1" in text_of(bench.get(at))
    day.start()
    opening = bench.get(at).content.decode()
    assert re.search(r'value="opening"[^>]*checked', opening)
    assert f'value="{day.method.pk}" selected' in opening
    assert 'value="2026-09-16T10:00"' in opening  # nine o'clock UTC in London
    day.check()
    assert re.search(r'value="closing"[^>]*checked', bench.get(at).content.decode())


def test_only_bottles_that_may_be_read_are_offered(bench: Client, day: Day) -> None:
    day.nacl.opened_at = None
    day.nacl.save()
    page = bench.get(reverse("check_new")).content.decode()
    assert "MgCl2-26-04 / 1" in page
    assert "NaCl-26-04 / 1" not in page


@pytest.mark.parametrize(
    ("temperature", "said"),
    [
        # Greenspan 1977 gives 75.47 % at 20 degC and 75.29 % at 25 degC for NaCl, here to one in the last digit
        ("20.0", "should read 0.754"),
        ("25", "should read 0.7530"),
        ("", "measure its temperature"),
        ("77", "No expected value"),
        ("<b>", "No expected value"),
    ],
)
def test_the_expected_value_is_shown_at_the_measured_temperature(
    bench: Client, day: Day, temperature: str, said: str
) -> None:
    asked = {"row": "2", "bottle_2": "NaCl-26-04 / 1", "temperature_c_2": temperature}
    response = bench.get(reverse("check_expected"), asked, headers={"HX-Request": "true"})
    assert said in response.content.decode()
    assert "<" not in response.content.decode()


def test_the_expected_value_alone_is_no_page(bench: Client) -> None:
    assert bench.get(reverse("check_expected"))["Location"] == reverse("check_new")


def test_the_start_sheet_answers_on_its_own_page(bench: Client, day: Day) -> None:
    filled = {
        "instrument": f"iso:i:{day.instrument.pk}",
        "method_version": str(day.method.pk),
        "room_temperature_c": "22.4",
        "room_rh_percent": "48",
        "warmed_up_since": "2026-09-16T09:10",
        "block_temperature_c": "25.1",
    }
    response = bench.post(reverse("start_sheet"), filled)
    words = text_of(bench.get(response["Location"]))
    assert "OW-1 may start" in words
    assert "Record the opening check" in words
    late = bench.post(reverse("start_sheet"), {**filled, "warmed_up_since": "2026-09-16T09:50"})
    words = text_of(bench.get(late["Location"]))
    assert "OW-1 may not start yet" in words
    assert "Warmed up 10 min of 30 min needed" in words
    bad = bench.post(reverse("start_sheet"), {**filled, "block_temperature_c": "hot"})
    assert bad.status_code == 422
    assert 'value="hot"' in bad.content.decode()
    assert "Nothing was saved" in text_of(bad)


def test_a_cleaning_is_logged_and_then_named_by_its_check(bench: Client, day: Day) -> None:
    day.start()
    at = "2026-09-16T08:30"
    assert bench.post(reverse("cleaning_new"), {"instrument": "OW-1", "what": "rim", "at": at}).status_code == 302
    assert "No check names it yet" in text_of(bench.get(reverse("cleaning_new")))
    check = day.check()
    assert reverse("check", args=[check.pk]) in bench.get(reverse("cleaning_new")).content.decode()
    assert "rim, 2026-09-16 08:30" in text_of(bench.get(reverse("check", args=[check.pk])))


def test_a_manager_voids_a_check_for_a_cause_and_the_page_says_so(bench: Client, day: Day, client: Client) -> None:
    day.start()
    check = day.check()
    refused = bench.post(reverse("check_void", args=[check.pk]), {"reason": "slurry dry"})
    assert refused.status_code == 422
    assert "this is for manager" in text_of(refused)
    client.force_login(day.manager, BACKEND)
    assert client.post(reverse("check_void", args=[check.pk]), {"reason": ""}).status_code == 422
    client.post(reverse("check_void", args=[check.pk]), {"reason": "slurry dry"})
    words = text_of(client.get(reverse("check", args=[check.pk])))
    assert "This check is void" in words
    assert "slurry dry" in words
    assert client.get(reverse("check_void", args=[check.pk])).status_code == 405


def test_the_check_of_another_plant_is_not_found_and_its_things_cannot_be_named(
    bench: Client, day: Day, client: Client
) -> None:
    day.start()
    check = day.check()
    other = make.make_site("elm-mill")
    outsider = make.make_person(other, *day.analyst.roles, username="otto")
    bottle: Bottle = make.make_bottle(other, "KCl")
    refused = bench.post(reverse("check_new"), typed(day, bottle_2=f"iso:b:{bottle.pk}"))
    assert "a bottle of this plant" in text_of(refused)
    client.force_login(outsider, BACKEND)
    assert client.get(reverse("check", args=[check.pk])).status_code == 404
    assert client.post(reverse("check_void", args=[check.pk]), {"reason": "x"}).status_code == 404
    assert "an instrument of this plant" in text_of(client.post(reverse("check_new"), typed(day)))
    for name in ("checks", "start_sheet", "cleaning_new", "check_new"):
        assert "OW-1" not in text_of(client.get(reverse(name))), name


def test_script_text_in_every_free_text_field_is_shown_as_text(bench: Client, day: Day, client: Client) -> None:
    day.start()
    bench.post(reverse("cleaning_new"), {"instrument": "OW-1", "what": SCRIPT, "at": "2026-09-16T08:30"})
    bench.post(reverse("check_new"), typed(day, note=SCRIPT))
    check = Check.objects.get()
    client.force_login(day.manager, BACKEND)
    client.post(reverse("check_void", args=[check.pk]), {"reason": SCRIPT})
    pages = [reverse("check", args=[check.pk]), reverse("cleaning_new"), reverse("trail", args=["check", check.pk])]
    for at in pages:
        page = client.get(at).content.decode()
        assert SCRIPT not in page
        assert "&lt;script&gt;" in page, at
    kept = client.post(reverse("check_new"), typed(day, instrument=SCRIPT, bottle_1=SCRIPT, note=SCRIPT))
    assert SCRIPT not in kept.content.decode()


def test_the_auditor_sees_everything_and_changes_nothing(bench: Client, day: Day, client: Client) -> None:
    day.start()
    check = day.check()
    client.force_login(day.auditor, BACKEND)
    for at in (reverse("checks"), reverse("check", args=[check.pk]), reverse("check_new"), reverse("start_sheet")):
        assert client.get(at).status_code == 200
    assert "this is for analyst, manager" in text_of(client.post(reverse("check_new"), typed(day)))
    assert Check.objects.count() == 1


@pytest.mark.parametrize("key", ["9" * 5000, "99999999999999999999", "\u0663", "-1", "1.0"])
def test_a_key_that_is_none_of_ours_stands_at_its_field(bench: Client, day: Day, key: str) -> None:
    response = bench.post(reverse("check_new"), typed(day, method_version=key))
    assert response.status_code == 422
    assert "a method of this plant, in the version in force" in text_of(response)
