"""The pages around the grid: intake, samples, cups, tempering, runs, second keying, import, labels, in-process."""

from __future__ import annotations

import re
from datetime import timedelta
from pathlib import Path

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.utils import timezone
from tests.outlets.site.bench.shift import GOOD, NOW, Shift, make_shift, upload, words
from tests.outlets.site.browse import sign_in

from isohume.outlets.site.bench.actions.correct_run import CorrectRun
from isohume.outlets.site.bench.actions.import_runs import ImportRuns
from isohume.outlets.site.bench.actions.key_second import KeySecond
from isohume.outlets.site.bench.actions.read_in_process import ReadInProcess
from isohume.outlets.site.bench.actions.take_temperature import TakeTemperature
from isohume.outlets.site.bench.actions.void_run import VoidRun
from isohume.outlets.site.bench.models import (
    Lot,
    Portion,
    Run,
    Sample,
    SecondKeying,
)
from isohume.outlets.site.ledger.actions import perform

HTMX = {"HTTP_HX_REQUEST": "true"}
SCRIPT = "<script>alert(1)</script>"


@pytest.fixture
def shift(site_db: Path, monkeypatch: pytest.MonkeyPatch) -> Shift:
    shift = make_shift()
    monkeypatch.setattr(timezone, "now", lambda: NOW)
    return shift


@pytest.fixture
def at_bench(client: Client, shift: Shift) -> Client:
    sign_in(client, shift.analyst)
    return client


@pytest.fixture
def second(shift: Shift) -> Client:
    other = Client()
    sign_in(other, shift.bench.manager)
    return other


def test_a_lot_is_received_and_its_first_sample_comes_next(at_bench: Client, shift: Shift) -> None:
    form = {"product": shift.bench.product.pk, "code": "SB-0916-07", "produced_on": "2026-09-15"}
    answer = at_bench.post("/lots/new/", form)
    assert (answer.status_code, answer.headers["Location"]) == (302, "/samples/new/?lot=SB-0916-07")
    sample = {"lot": "sb-0916-07", "position": "line 2", "sealed": "yes", "portions": "2", "cover": "lidded"}
    answer = at_bench.post("/samples/new/", sample)
    made = Sample.objects.get()
    assert answer.headers["Location"] == f"/samples/new/?lot=SB-0916-07&made={made.pk}"
    assert made.portions.count() == 2
    text = words(at_bench.get(answer.headers["Location"]))
    assert "Sample 1 of lot SB-0916-07 with cups A , B" in text
    assert "Print its labels" in text


def test_a_refused_lot_keeps_what_was_typed(at_bench: Client, shift: Shift) -> None:
    answer = at_bench.post("/lots/new/", {"product": shift.bench.product.pk, "code": "SB\u20111", "customer": "Own"})
    assert answer.status_code == 422
    assert "write other dashes as -" in words(answer)
    assert 'value="Own"' in answer.content.decode()
    for product in ("", "999", "x", str(make_shift("three-gate").bench.product.pk)):
        refused = at_bench.post("/lots/new/", {"product": product, "code": "SB-1"})
        assert refused.status_code == 422
        assert "a product of the register" in words(refused)
    assert not Lot.objects.exists()


def test_a_sample_names_its_component_where_there_are_several(at_bench: Client, shift: Shift) -> None:
    shift.bench.product.components = ["base", "filling"]
    shift.bench.product.save()
    shift.lot()
    form = {"lot": "SB-0916-03", "position": "line 2", "sealed": "yes", "portions": "2", "cover": "lidded"}
    refused = at_bench.post("/samples/new/", form)
    assert refused.status_code == 422
    assert "which component was sampled: base, filling" in words(refused)
    assert at_bench.post("/samples/new/", {**form, "component": "base"}).status_code == 302


def test_the_sample_form_offers_the_cups_that_the_method_asks(at_bench: Client, shift: Shift) -> None:
    shift.bench.method.portions = 3
    shift.bench.method.save()
    shift.lot()
    text = at_bench.get("/samples/new/", {"lot": "SB-0916-03"}).content.decode()
    assert re.search(r'name="portions"[^>]*value="3"', text)


def test_an_unknown_lot_is_said(at_bench: Client, shift: Shift) -> None:
    answer = at_bench.post("/samples/new/", {"lot": "XX-1", "position": "a", "sealed": "yes"})
    assert "the code of a lot that was received" in words(answer)


def test_a_sample_page_prepares_one_cup_more(at_bench: Client, shift: Shift) -> None:
    sample = shift.sample(portions=1)
    assert at_bench.post(f"/samples/{sample.pk}/", {"cover": "open"}).status_code == 302
    assert [cup.code for cup in sample.portions.order_by("pk")] == ["A", "B"]
    text = words(at_bench.get(f"/samples/{sample.pk}/"))
    assert "Sample 1 of lot SB-0916-03: 2 cups, 2 of them wait" in text
    assert at_bench.post(f"/samples/{sample.pk}/", {"cover": "foil"}).status_code == 422


def test_a_cup_says_its_clock_and_takes_cover_temperature_and_end(at_bench: Client, shift: Shift) -> None:
    cup = shift.portion(cover="open")
    assert "Open for 40 min, beyond the method's 10 min" in words(at_bench.get(f"/cups/{cup.pk}/"))
    assert at_bench.post(f"/cups/{cup.pk}/cover/", {"cover": "lidded"}).status_code == 302
    assert "Lidded for 0 min" in words(at_bench.get(f"/cups/{cup.pk}/"))
    assert at_bench.post(f"/cups/{cup.pk}/temperature/", {"temperature_c": "28.0"}).status_code == 302
    text = words(at_bench.get(f"/cups/{cup.pk}/"))
    assert "Ready in about 36 min" in text  # 20 min * ln(3.0 K / 0.5 K) = 35.8 min
    assert "Newton's law of cooling" in text
    assert at_bench.post(f"/cups/{cup.pk}/temperature/", {"temperature_c": "82 F"}).status_code == 422
    assert at_bench.post(f"/cups/{cup.pk}/discard/", {"reason": ""}).status_code == 422
    assert at_bench.post(f"/cups/{cup.pk}/discard/", {"reason": "Spilled"}).status_code == 302
    assert "Discarded: Spilled" in words(at_bench.get(f"/cups/{cup.pk}/"))


def test_the_preparation_of_the_products_form_is_shown(at_bench: Client, shift: Shift) -> None:
    shift.bench.product.form = "hard pieces"
    shift.bench.product.save()
    text = words(at_bench.get(f"/cups/{shift.portion().pk}/"))
    assert "Snip the pieces" in text
    assert "common practice (no source)" in text


def test_the_tempering_queue_has_ready_times_and_takes_temperatures(at_bench: Client, shift: Shift) -> None:
    cool = shift.portion(temperature_c="25.2")
    warm = shift.portion(cool.sample, temperature_c="29.0")
    unknown = shift.portion(cool.sample)
    text = at_bench.get("/tempering/").content.decode()
    places = [text.index(f'id="portion-{cup.pk}"') for cup in (cool, warm, unknown)]
    assert places == sorted(places)
    assert "1 of 3 cups are within the limit" in text
    row = at_bench.post(f"/tempering/{warm.pk}/", {"temperature_c": "25.3"}, **HTMX)
    assert "ready: 0.3 K warmer than the block" in words(row)
    refused = at_bench.post(f"/tempering/{warm.pk}/", {"temperature_c": "abc"}, **HTMX)
    assert refused.status_code == 422
    assert 'value="abc"' in refused.content.decode()
    assert at_bench.post(f"/tempering/{unknown.pk}/", {"temperature_c": "25.0"}).status_code == 302
    assert at_bench.post(f"/tempering/{unknown.pk}/", {"temperature_c": "x"}).status_code == 422


def test_two_temperatures_of_a_cup_tell_its_own_time_constant(at_bench: Client, shift: Shift) -> None:
    """From 29.0 to 27.0 degC in 20 min in a 25 degC block: it halves in 20 min, so 0.5 K is there 40 min later."""
    cup = shift.portion(temperature_c="29.0")
    perform(TakeTemperature(cup, "27.0"), shift.by(minutes=-20))
    text = words(at_bench.get(f"/cups/{cup.pk}/"))
    assert "fitted to 2 readings of this portion" in text
    assert "Ready in about 20 min" in text  # read 20 min ago, ready 40 min after it


def test_the_queue_takes_few_queries(at_bench: Client, shift: Shift) -> None:
    for number in range(20):
        shift.sample(shift.lot(f"SB-{number:02d}"), portions=2, temperature_c="28.0")
    with CaptureQueriesContext(connection) as queries:
        at_bench.get("/tempering/")
    assert len(queries) <= 12


def test_a_run_page_says_everything_of_it(at_bench: Client, shift: Shift) -> None:
    kept = shift.run(shift.portion(), "0.6320", instrument_number="118")
    answer = at_bench.get(f"/runs/{kept.run.pk}/")
    text = words(answer)
    assert "It counts; its second keying is open" in text
    assert "first read of cup A" in text
    assert "condenses where a_w p_sat(T_sample) > p_sat(T_block)" in text
    assert "Analyst recorded run" in text  # why this person does not void it
    assert "<svg" in answer.content.decode()


def test_a_run_is_corrected_and_voided_from_its_page(at_bench: Client, second: Client, shift: Shift) -> None:
    run = shift.run(shift.portion(), "0.618").run
    assert at_bench.post(f"/runs/{run.pk}/correct/", {"a_w": "0.681"}).status_code == 422
    answer = at_bench.post(f"/runs/{run.pk}/correct/", {"a_w": "0.681", "reason": "Digits swapped"})
    right = Run.objects.get(corrects=run)
    assert answer.headers["Location"] == f"/runs/{right.pk}/"
    assert "Replaced by its correction" in words(at_bench.get(f"/runs/{run.pk}/"))
    assert "Digits swapped" in words(at_bench.get(f"/runs/{right.pk}/"))
    refused = at_bench.post(f"/runs/{right.pk}/void/", {"reason": "Condensation"})
    assert refused.status_code == 422
    assert second.post(f"/runs/{right.pk}/void/", {"reason": " "}).status_code == 422
    assert second.post(f"/runs/{right.pk}/void/", {"reason": "Condensation"}).status_code == 302
    assert "Void: Condensation" in words(at_bench.get(f"/runs/{right.pk}/"))


def test_the_second_keying_hides_the_first_number(at_bench: Client, second: Client, shift: Shift) -> None:
    run = shift.run(shift.portion(), "0.6137").run
    assert "No run waits for your keying" in words(at_bench.get("/second-keying/"))
    page = second.get("/second-keying/")
    assert "1 run waits for your keying" in words(page)
    assert "0.6137" not in page.content.decode()
    main = page.content.decode().split("<main")[1].split("</main")[0]
    led_to = set(re.findall(r'href="([^"#]+)"', main))
    assert led_to == {"/shift/"}, "it leads to no page that shows the first number"
    refused = second.post(f"/second-keying/{run.pk}/", {"a_w": "61.37"}, **HTMX)
    assert refused.status_code == 422
    assert "0.6137 " not in refused.content.decode()
    saved = second.post(f"/second-keying/{run.pk}/", {"a_w": "0.6137"}, **HTMX)
    assert "both keyings agree" in words(saved)
    assert "It counts" in words(second.get(f"/runs/{run.pk}/"))
    assert "No run waits for your keying" in words(second.get("/second-keying/"))


def test_keyings_that_differ_are_said_at_the_row_and_hold_the_lot(second: Client, shift: Shift) -> None:
    run = shift.run(shift.portion(), "0.618").run
    saved = words(second.post(f"/second-keying/{run.pk}/", {"a_w": "0.681"}, **HTMX))
    assert "the keyings differ" in saved
    assert "the digits 1 and 8 are swapped" in saved
    assert "Lot SB-0916-03 is on hold" in saved
    assert "Two people keyed different numbers" in words(second.get(f"/runs/{run.pk}/"))


def test_the_second_keying_works_without_the_script(second: Client, shift: Shift) -> None:
    run = shift.run(shift.portion()).run
    assert second.post(f"/second-keying/{run.pk}/", {"a_w": "x"}).status_code == 422
    assert second.post(f"/second-keying/{run.pk}/", {"a_w": "0.632"}).status_code == 302
    assert SecondKeying.objects.get().agrees


def test_the_second_keying_takes_few_queries(second: Client, shift: Shift) -> None:
    for number in range(20):
        shift.run(shift.portion(shift.sample(shift.lot(f"SB-{number:02d}"))))
    with CaptureQueriesContext(connection) as queries:
        second.get("/second-keying/")
    assert len(queries) <= 10


def every_page(shift: Shift) -> list[str]:
    """One address of every page of a shift, with something on it."""
    sample = shift.sample(portions=2)
    cup, other = sample.portions.order_by("pk")
    shift.portion(sample, temperature_c="29.0")
    run = shift.run(cup, "0.618", override_reason="Checked").run
    perform(KeySecond(run, "0.681"), shift.by(shift.bench.officer))
    perform(CorrectRun(run, "0.681", reason="Swapped"), shift.by())
    void = shift.run(other, "0.700", NOW + timedelta(minutes=3)).run
    perform(VoidRun(void, "Condensation"), shift.by(shift.bench.manager, 4))
    content = GOOD.replace(b",A,", f",{shift.portion(sample, code='D').code},".encode())
    file = perform(ImportRuns(shift.bench.site, "ow1.csv", content), shift.by())
    reading = perform(ReadInProcess(shift.bench.product, shift.bench.instrument, "line", "0.63", "0.6"), shift.by())
    runs = [f"/runs/{pk}/" for pk in Run.objects.values_list("pk", flat=True)]
    return [
        "/shift/", f"/shift/?scan={cup.scan_code}", "/lots/new/", "/samples/new/", "/tempering/", "/second-keying/",
        f"/samples/new/?lot={sample.lot.code}", f"/samples/{sample.pk}/", f"/cups/{cup.pk}/", f"/cups/{other.pk}/",
        "/import/", f"/import/{file.pk}/", f"/labels/?lot={sample.lot.code}", "/in-process/",
        f"/in-process/{reading.pk}/", *runs,
    ]  # fmt: skip


@pytest.mark.parametrize("who", ["analyst", "manager", "officer", "auditor"])
def test_every_page_opens_for_every_role(client: Client, shift: Shift, who: str) -> None:
    addresses = every_page(shift)
    sign_in(client, getattr(shift.bench, who))
    assert {address: client.get(address).status_code for address in addresses} == dict.fromkeys(addresses, 200)


def test_another_plants_objects_are_not_found(client: Client, shift: Shift) -> None:
    addresses = [a for a in every_page(shift) if re.search(r"/\d+/$", a)]
    sign_in(client, make_shift("three-gate").analyst)
    assert {address: client.get(address).status_code for address in addresses} == dict.fromkeys(addresses, 404)
    portion, run = Portion.objects.order_by("pk").first(), Run.objects.order_by("pk").first()
    for address in (
        f"/cups/{portion.pk}/cover/", f"/cups/{portion.pk}/discard/", f"/tempering/{portion.pk}/",
        f"/runs/{run.pk}/void/", f"/runs/{run.pk}/correct/", f"/second-keying/{run.pk}/",
    ):  # fmt: skip
        assert client.post(address, {"reason": "x"}).status_code == 404
    for query in (f"sample={portion.sample.pk}", f"cup={portion.pk}", "cup=x"):
        assert client.get(f"/labels/?{query}").status_code == 404


def test_nobody_signed_out_sees_anything(shift: Shift) -> None:
    addresses = every_page(shift)
    stranger = Client()
    for address in addresses:
        answer = stranger.get(address)
        assert answer.status_code == 302, address
        assert answer.headers["Location"].startswith("/sign-in/"), address


def test_script_in_any_text_is_shown_and_never_run(at_bench: Client, second: Client, shift: Shift) -> None:
    shift.bench.product.components = ["whole bar", SCRIPT]
    shift.bench.product.save()
    lot = shift.lot(SCRIPT, description=SCRIPT, customer=SCRIPT)
    sample = shift.sample(lot, position=SCRIPT, component=SCRIPT, code=SCRIPT)
    cup = shift.portion(sample, code="<i>A</i>")
    run = shift.run(cup, override_reason=SCRIPT, instrument_number="<b>1</b>").run
    right = perform(CorrectRun(run, "0.633", reason=SCRIPT), shift.by())
    perform(VoidRun(right, SCRIPT), shift.by(shift.bench.manager))
    reading = perform(ReadInProcess(shift.bench.product, shift.bench.instrument, SCRIPT, "0.63", "0.6"), shift.by())
    addresses = [
        "/shift/", f"/samples/new/?lot={lot.code}", f"/samples/{sample.pk}/", f"/cups/{cup.pk}/", "/tempering/",
        f"/runs/{run.pk}/", f"/runs/{right.pk}/", f"/labels/?lot={lot.code}", f"/in-process/{reading.pk}/",
        "/in-process/",
        f"/shift/?scan={SCRIPT}", f"/samples/new/?lot={SCRIPT}x", f"/labels/?lot={SCRIPT}x",
    ]  # fmt: skip
    for address in addresses:
        for browser in (at_bench, second):
            text = browser.get(address).content.decode()
            assert SCRIPT not in text, address
            assert "<i>A</i>" not in text, address
            assert "<b>1</b>" not in text, address
    hostile = upload(b"lot,portion,a_w,read_at\n" + SCRIPT.encode() + b",<i>A</i>,0.6,2026-09-16T09:40\n", "x<i>.csv")
    looked = at_bench.post("/import/", {"file": hostile, "act": "preview"}).content.decode()
    assert SCRIPT not in looked
    assert "<i>A" not in looked
    assert "x<i>" not in looked
