"""The grid of a shift: rows, saving one, errors at the row, without the script too, in few queries."""

from __future__ import annotations

import re
from datetime import timedelta
from html import unescape
from pathlib import Path

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.utils import timezone
from tests.outlets.site.bench.shift import NOW, Shift, make_shift, words
from tests.outlets.site.browse import sign_in

from isohume.outlets.site.bench.models import Portion, Run
from isohume.outlets.site.ledger.trail import trail_of

HTMX = {"HTTP_HX_REQUEST": "true"}


@pytest.fixture
def shift(site_db: Path, monkeypatch: pytest.MonkeyPatch) -> Shift:
    shift = make_shift()
    monkeypatch.setattr(timezone, "now", lambda: NOW)
    return shift


@pytest.fixture
def at_bench(client: Client, shift: Shift) -> Client:
    sign_in(client, shift.analyst)
    return client


def typed(shift: Shift, **more: str) -> dict[str, str]:
    instrument = str(shift.bench.instrument.pk)
    given = {"instrument": instrument, "block_temperature_c": "25.0", "sample_temperature_c": "25.0"}
    return {**given, "a_w": "0.632", **more}


def test_the_cups_that_wait_stand_in_the_order_they_came(at_bench: Client, shift: Shift) -> None:
    first, second = shift.sample(portions=2), shift.sample(shift.lot("SB-0916-04"), portions=2)
    text = at_bench.get("/shift/").content.decode()
    places = [text.index(f'data-code="{cup.scan_code}"') for cup in Portion.objects.order_by("pk")]
    assert places == sorted(places)
    assert len(places) == 4
    assert "4 cups wait; OW-1 may measure" in text
    for sample in (first, second):
        assert f"{sample.lot.code} / 1 / A" in text


def test_the_grid_of_forty_samples_in_duplicate_takes_few_queries(at_bench: Client, shift: Shift) -> None:
    for number in range(40):
        shift.sample(shift.lot(f"SB-{number:02d}"), portions=2, temperature_c="25.0")
    shift.run(Portion.objects.first())
    with CaptureQueriesContext(
        connection,
    ) as queries:
        assert at_bench.get("/shift/").status_code == 200
    assert len(queries) <= 14, [query["sql"][:90] for query in queries]


def test_a_row_is_saved_and_acknowledged_with_its_number(at_bench: Client, shift: Shift) -> None:
    cup = shift.portion()
    answer = at_bench.post(f"/shift/{cup.pk}/", typed(shift), **HTMX)
    run = Run.objects.get()
    text = answer.content.decode()
    assert answer.status_code == 200
    assert "data-saved" in text
    assert f"Run {run.pk}" in text
    assert "first read of cup A" in text
    assert (run.a_w, run.by, run.read_at) == ("0.632", shift.analyst, NOW)
    assert "<html" not in text


def test_a_refused_row_keeps_what_was_typed_and_says_why_at_the_field(at_bench: Client, shift: Shift) -> None:
    cup = shift.portion()
    answer = at_bench.post(f"/shift/{cup.pk}/", typed(shift, a_w="63.2"), **HTMX)
    text = unescape(answer.content.decode())
    assert answer.status_code == 422
    assert 'value="63.2"' in text
    assert "was ERH in percent meant (a_w 0.632)?" in text
    assert 'aria-invalid="true"' in text
    assert not Run.objects.exists()


def test_a_warm_sample_gets_a_field_for_the_reason(at_bench: Client, shift: Shift) -> None:
    cup = shift.portion()
    text = at_bench.post(f"/shift/{cup.pk}/", typed(shift, sample_temperature_c="27.6"), **HTMX).content.decode()
    assert 'name="override_reason"' in text
    assert "Wait until it is within the limit" in text
    saved = at_bench.post(
        f"/shift/{cup.pk}/", typed(shift, sample_temperature_c="27.6", override_reason="Line stands"), **HTMX
    )
    assert "read all the same: Line stands" in saved.content.decode()


def test_a_cup_read_before_joins_by_its_code_as_a_re_read(at_bench: Client, shift: Shift) -> None:
    cup = shift.portion()
    shift.run(cup, at=NOW - timedelta(minutes=10))
    assert f'data-code="{cup.scan_code}"' not in at_bench.get("/shift/").content.decode()
    text = at_bench.get("/shift/", {"scan": cup.scan_code}).content.decode()
    assert "second read of cup A: a re-read, not a replicate" in text
    alone = at_bench.get(f"/shift/{cup.pk}/").content.decode()
    assert alone.lstrip().startswith("<tr")
    assert "second read of cup A" in alone


@pytest.mark.parametrize("code", ["iso:p:999999", "iso:b:1", "hello", "iso:p:" + "9" * 15])
def test_a_code_that_is_no_cups_is_said_at_the_field(at_bench: Client, shift: Shift, code: str) -> None:
    text = at_bench.get("/shift/", {"scan": code}).content.decode()
    assert "allowed: the code of a cup of this plant" in text


def test_without_the_script_a_row_is_a_plain_form(at_bench: Client, shift: Shift) -> None:
    cup = shift.portion()
    answer = at_bench.post(f"/shift/{cup.pk}/", typed(shift))
    run = Run.objects.get()
    assert (answer.status_code, answer.headers["Location"]) == (302, f"/shift/?saved={run.pk}#grid")
    assert f"Run {run.pk}" in at_bench.get(answer.headers["Location"]).content.decode()
    other = shift.portion(cup.sample)
    refused = at_bench.post(f"/shift/{other.pk}/", typed(shift, a_w="1.2"))
    assert refused.status_code == 422
    assert 'value="1.2"' in refused.content.decode()
    assert "<html" in refused.content.decode()


def test_instrument_and_block_are_set_once(at_bench: Client, shift: Shift) -> None:
    shift.portion()
    at_bench.get("/shift/", {"instrument": shift.bench.instrument.pk, "block_temperature_c": "25.1"})
    text = at_bench.get("/shift/").content.decode()
    assert '<input type="hidden" name="block_temperature_c" value="25.1">' in text
    wrong = at_bench.get("/shift/", {"instrument": shift.bench.instrument.pk, "block_temperature_c": "77"})
    assert "was degF" in unescape(wrong.content.decode())


def test_an_unknown_instrument_is_refused(at_bench: Client, shift: Shift) -> None:
    cup, other = shift.portion(), make_shift("three-gate")
    for pk in ("", "x", "99999", str(other.bench.instrument.pk)):
        answer = at_bench.post(f"/shift/{cup.pk}/", typed(shift, instrument=pk), **HTMX)
        assert answer.status_code == 422
        assert "an instrument of the register" in answer.content.decode()


def test_another_plants_cup_is_not_found(at_bench: Client, shift: Shift) -> None:
    theirs = make_shift("three-gate").portion()
    assert at_bench.post(f"/shift/{theirs.pk}/", typed(shift), **HTMX).status_code == 404
    assert at_bench.get(f"/shift/{theirs.pk}/").status_code == 404
    scanned = at_bench.get("/shift/", {"scan": theirs.scan_code})
    assert "allowed: the code of a cup of this plant" in scanned.content.decode()
    assert not Run.objects.exists()


@pytest.mark.parametrize("who", ["manager", "officer", "auditor"])
def test_everybody_may_look_and_only_the_bench_records(client: Client, shift: Shift, who: str) -> None:
    cup, person = shift.portion(), getattr(shift.bench, who)
    sign_in(client, person)
    assert client.get("/shift/").status_code == 200
    answer = client.post(f"/shift/{cup.pk}/", typed(shift), **HTMX)
    assert answer.status_code == (200 if who == "manager" else 422)
    assert Run.objects.exists() == (who == "manager")


def test_a_form_without_its_token_is_refused(shift: Shift) -> None:
    cup, strict = shift.portion(), Client(enforce_csrf_checks=True)
    sign_in(strict, shift.analyst)
    assert strict.post(f"/shift/{cup.pk}/", typed(shift), **HTMX).status_code == 403
    assert not Run.objects.exists()


def test_script_in_free_text_is_shown_and_never_run(at_bench: Client, shift: Shift) -> None:
    script = "<script>alert(1)</script>"
    shift.bench.product.components = ["whole bar", script]
    shift.bench.product.save()
    cup = shift.portion(shift.sample(shift.lot(script), position=script, component=script))
    assert script not in at_bench.get("/shift/").content.decode()
    posted = typed(shift, sample_temperature_c="27.6", override_reason=script, a_w=script)
    assert script not in at_bench.post(f"/shift/{cup.pk}/", posted, **HTMX).content.decode()


def test_an_empty_shift_says_what_to_do_first(at_bench: Client, shift: Shift) -> None:
    assert "No cup waits. Receive a sample and prepare its cups first." in at_bench.get("/shift/").content.decode()


def test_a_row_sent_again_after_a_lost_answer_is_one_run(at_bench: Client, shift: Shift) -> None:
    cup = shift.portion()
    first = at_bench.post(f"/shift/{cup.pk}/", typed(shift, mark="0123456789abcdef"), **HTMX)
    again = at_bench.post(f"/shift/{cup.pk}/", typed(shift, mark="0123456789abcdef"), **HTMX)
    run = Run.objects.get()
    for answer in (first, again):
        assert f"Run {run.pk}" in answer.content.decode()
        assert "data-saved" in answer.content.decode()
    other = at_bench.post(
        f"/shift/{cup.pk}/", typed(shift, mark="fedcba9876543210", read_at="2026-09-16T09:58"), **HTMX
    )
    assert "second read of cup A" in other.content.decode()
    marks = re.findall(r'name="mark" value="([0-9a-f]{16})"', at_bench.get(f"/shift/{cup.pk}/").content.decode())
    assert len(marks) == 1


@pytest.mark.parametrize("mark", ["x", "0123456789ABCDEF", "<script>", "0123456789abcdef0"])
def test_a_mark_of_another_shape_is_none(at_bench: Client, shift: Shift, mark: str) -> None:
    cup = shift.portion()
    assert at_bench.post(f"/shift/{cup.pk}/", typed(shift, mark=mark), **HTMX).status_code == 200
    assert mark not in str(trail_of(Run.objects.get().ref)[-1].details)


def test_what_one_may_key_a_second_time_is_not_shown_before(at_bench: Client, shift: Shift) -> None:
    run = shift.run(shift.portion(), "0.6137", timezone.now() - timedelta(seconds=5), read_at=NOW).run
    assert "0.6137" in at_bench.get("/shift/").content.decode(), "who typed it"
    shown = {}
    for who in ("manager", "auditor"):
        client = Client()
        sign_in(client, getattr(shift.bench, who))
        shown[who] = "0.6137" in client.get("/shift/").content.decode()
    assert shown == {"manager": False, "auditor": True}
    assert f"Run {run.pk}" in words(at_bench.get("/shift/"))


@pytest.mark.parametrize("key", ["9" * 5000, "²", "99999999999999999999", "-1"])
def test_a_key_of_nothing_is_nothing(at_bench: Client, shift: Shift, key: str) -> None:
    cup = shift.portion()
    for address in ("/shift/?saved=", "/samples/new/?made="):
        assert at_bench.get(address + key).status_code == 200
    for address in ("/labels/?sample=", "/labels/?cup="):
        assert at_bench.get(address + key).status_code == 404
    for address, field in ((f"/shift/{cup.pk}/", "instrument"), ("/in-process/", "product"), ("/lots/new/", "product")):
        assert at_bench.post(address, {field: key, "portions": key}).status_code == 422
    posted = {"lot": cup.sample.lot.code, "position": "rack 4", "sealed": "yes", "portions": key}
    assert at_bench.post("/samples/new/", posted).status_code == 422
