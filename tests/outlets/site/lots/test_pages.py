"""The pages of lots, signing and deviations: what they answer, what they keep, whom they refuse."""

from __future__ import annotations

import re
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone
from tests.outlets.site import make
from tests.outlets.site.lots.bench_day import (
    NOW,
    OPENED,
    Bench,
    judge,
    key_again,
    make_bench,
    make_check,
    make_lot,
    make_portion,
    make_run,
)

from isohume.outlets import site
from isohume.outlets.site.bench.models import Lot, Run
from isohume.outlets.site.ledger.actions import ACTIONS, By, perform
from isohume.outlets.site.lots.actions.hold_lot import HoldLot
from isohume.outlets.site.lots.frozen import questions
from isohume.outlets.site.lots.models import Deviation, LotRecord, MoistureDetermination, PhDetermination
from isohume.outlets.site.people.models import Person

SCRIPT = '<script>alert("x")</script>'


@pytest.fixture
def bench(site_db: Path) -> Bench:
    """A bench whose people accepted the policy of signatures."""
    made = make_bench()
    Person.objects.update(policy_accepted_at=NOW)
    return made


def sign_in(client: Client, person: Person) -> Client:
    """The person at the browser."""
    client.force_login(person, "django.contrib.auth.backends.ModelBackend")
    return client


def text_of(client: Client, name: str, *args: Any, **asked: str) -> str:
    """A page's text."""
    response = client.get(reverse(name, args=args), asked)
    assert response.status_code == 200
    return str(response.content.decode())


def test_the_list_shows_states_and_verdicts_and_finds_lots(bench: Bench, client: Client) -> None:
    judge(bench, make_lot(bench, "SB-1", "0.6315", "0.6331"))
    judge(bench, make_lot(bench, "SB-2", "0.6715", "0.6721"))
    make_lot(bench, "OB-3")
    sign_in(client, bench.auditor)
    page = text_of(client, "lots")
    assert all(word in page for word in ("SB-1", "SB-2", "OB-3", "not judged", "on hold", "R000001", "&gt; 99.9 %"))
    assert "SB-1" not in text_of(client, "lots", state="on hold")
    assert "OB-3" in text_of(client, "lots", text="ob-")
    assert "No lot is like that" in text_of(client, "lots", product="999999")
    assert "SB-2" in text_of(client, "lots", product=str(bench.product.pk))


def test_the_list_takes_few_statements_and_goes_on_after_fifty(bench: Bench, client: Client) -> None:
    for number in range(60):
        lot = make_lot(bench, f"SB-{number:03}", *(("0.6315", "0.6331") if number % 10 == 0 else ()))
        if number % 10 == 0:
            judge(bench, lot)
    sign_in(client, bench.analyst).get(reverse("lots"))  # the session notes once that the person was seen
    with CaptureQueriesContext(connection) as asked:
        page = text_of(client, "lots")
    assert len(asked) <= 5, [query["sql"] for query in asked]
    assert page.count('<tr><th scope="row"') == 50
    oldest = Lot.objects.get(code="SB-010").pk
    assert f"before={oldest}" in page
    older = text_of(client, "lots", before=str(oldest))
    assert older.count('<tr><th scope="row"') == 10
    assert "SB-000" in older


def test_the_list_of_an_empty_plant_says_what_to_do_first(bench: Bench, client: Client) -> None:
    assert "No lot was received yet" in text_of(sign_in(client, bench.analyst), "lots")


def test_a_lot_is_judged_from_its_page(bench: Bench, client: Client) -> None:
    lot = make_lot(bench, "SB-1", "0.6315", "0.6331")
    sign_in(client, bench.analyst)
    before = text_of(client, "lot", lot.pk)
    assert "Not yet: not judged" in before
    assert "Judge lot" in before
    assert client.post(reverse("lot_act", args=[lot.pk, "judge"])).status_code == 302
    page = text_of(client, "lot", lot.pk)
    for said in (
        "Not yet: pass, it waits for a second keying",
        "0.6323",
        "How do we know",
        "Phi",
        "line 1",
        "replicate",
    ):
        assert said in page, said
    assert reverse("check", args=[bench.opening.pk]) in page
    assert reverse("record", args=["R000001"]) in page


def test_what_the_page_refuses_it_says_and_keeps(bench: Bench, client: Client) -> None:
    lot = make_lot(bench, "SB-1")
    sign_in(client, bench.analyst)
    response = client.post(reverse("lot_act", args=[lot.pk, "judge"]))
    assert response.status_code == 422
    assert "no run yet" in response.content.decode()
    run = make_run(bench, make_portion(bench, lot.samples.get(), "A"), "0.6315", OPENED + timedelta(minutes=20))
    judge(bench, lot)
    Run.objects.filter(pk=run.pk).update(void_reason="wrong cup")
    page = text_of(client, "lot", lot.pk)
    assert f"Run {run.pk} was voided or corrected after record R000001" in page
    response = client.post(reverse("lot_act", args=[lot.pk, "judge"]), {"amendment_reason": ""})
    assert response.status_code == 422
    assert "gets another record" in response.content.decode()


def test_a_lot_is_held_from_its_page_and_its_deviation_closed(bench: Bench, client: Client) -> None:
    lot = make_lot(bench, "SB-1", "0.6315", "0.6331")
    judge(bench, lot)
    sign_in(client, bench.manager)
    client.post(reverse("lot_act", args=[lot.pk, "hold"]), {"hold_reason": "a customer called"})
    page = text_of(client, "lot", lot.pk)
    assert "No: on hold" in page
    assert "a customer called" in page
    assert "a customer called" in text_of(client, "deviations")
    deviation = Deviation.objects.get()
    client.post(reverse("deviation_act", args=[deviation.pk, "own"]), {"owner": str(bench.analyst.pk)})
    assert "Analyst" in text_of(client, "deviation", deviation.pk)
    form = {"cause": "wrong pallet", "action": "found it", "disposition": "release", "password": make.PASSWORD}
    sign_in(client, bench.officer)
    refused = client.post(reverse("deviation_act", args=[deviation.pk, "close"]), {**form, "password": "wrong"})
    assert refused.status_code == 422
    assert "password was not given again" in refused.content.decode()
    assert "wrong pallet" in refused.content.decode(), "what was typed is kept"
    assert client.post(reverse("deviation_act", args=[deviation.pk, "close"]), form).status_code == 302
    assert "Closed" in text_of(client, "deviation", deviation.pk)
    assert Lot.objects.get().state == "judged"
    assert "a customer called" not in text_of(client, "deviations")
    assert "a customer called" in text_of(client, "deviations", all="1")


def test_a_deviation_is_opened_on_the_list(bench: Bench, client: Client) -> None:
    make_lot(bench, "SB-1")
    sign_in(client, bench.analyst)
    form = {"kind": "hold", "what": "a bag without a label", "lot": "sb-1"}
    assert client.post(reverse("deviations"), form).status_code == 302
    assert Lot.objects.get().state == "on hold"
    refused = client.post(reverse("deviations"), {**form, "lot": "SB-99"})
    assert refused.status_code == 422
    assert "the code of a lot of this plant" in refused.content.decode()


def ready(bench: Bench, code: str) -> LotRecord:
    """A judged lot, keyed twice."""
    lot = make_lot(bench, code, "0.6315", "0.6331")
    key_again(bench, lot)
    return judge(bench, lot)


def test_a_list_is_reviewed_with_one_password_and_a_lot_released(bench: Bench, client: Client) -> None:
    one, two = ready(bench, "SB-1"), ready(bench, "SB-2")
    unkeyed = judge(bench, make_lot(bench, "SB-3", "0.6315", "0.6331"))
    sign_in(client, bench.manager)
    page = text_of(client, "sign")
    assert "2 to sign as reviewed" in page
    assert f'value="{unkeyed.record}"' not in page
    assert "was typed and not keyed a second time" in page
    form = {"meaning": "reviewed", "records": [one.record, two.record], "password": make.PASSWORD}
    assert client.post(reverse("sign"), form).status_code == 302
    assert [s.of for s in questions().signatures_of(one.record)] == [2]
    sign_in(client, bench.officer)
    assert f'value="{one.record}"' in text_of(client, "sign", meaning="released", record=one.record)
    form = {"meaning": "released", "records": [one.record], "record": one.record, "password": make.PASSWORD}
    assert client.post(reverse("sign"), form).url == reverse("lot", args=[one.lot_id])
    page = text_of(client, "lot", one.lot_id)
    assert "Yes: released" in page
    assert "Officer, release officer" in page


def test_signing_refused_stands_on_the_page(bench: Bench, client: Client) -> None:
    record = ready(bench, "SB-1")
    Person.objects.filter(pk=bench.manager.pk).update(policy_accepted_at=None)
    sign_in(client, bench.manager)
    form = {"meaning": "reviewed", "records": [record.record], "password": make.PASSWORD}
    refused = client.post(reverse("sign"), form)
    assert refused.status_code == 422
    assert "the policy of electronic signatures accepted" in refused.content.decode()
    assert make.PASSWORD not in refused.content.decode()
    assert client.post(reverse("sign"), {**form, "records": ["R999999"]}).status_code == 404
    assert client.get(reverse("sign"), {"meaning": "liked"}).status_code == 404
    sign_in(client, bench.analyst)
    assert "Signing reviewed is for: manager or release officer" in text_of(client, "sign")


def test_changes_and_voids_stand_before_the_reviewer(bench: Bench, client: Client) -> None:
    lot = make_lot(bench, "SB-1", "0.6315", "0.6331", "0.6813")
    slip = Run.objects.get(a_w="0.6813")
    Run.objects.filter(a_w="0.6331").update(void_reason="lid left off", voided_by=bench.manager)
    make_run(bench, slip.portion, "0.6318", slip.read_at, corrects=slip, correction_reason="keyed 81 for 18")
    key_again(bench, lot)
    judge(bench, lot)
    sign_in(client, bench.officer)
    for page in (text_of(client, "sign"), text_of(client, "lot", lot.pk)):
        assert "voided by Manager: lid left off" in page
        assert f"corrects run {slip.pk} (0.6813): keyed 81 for 18" in page


def test_moisture_is_recorded_and_shown(bench: Bench, client: Client) -> None:
    lot = make_lot(bench, "SB-1", "0.6315", "0.6331")
    form = {
        "basis": "wet",
        "method": "oven, 102 degC, 4 h",
        "dish_g_1": "21.4032",
        "with_sample_g_1": "26.4418",
        "with_dry_g_1": "25.8461",
        "check_nominal_g": "20.0000",
        "check_read_g": "20.0001",
        "check_limit_g": "0.0005",
    }
    sign_in(client, bench.analyst)
    assert "Moisture from weights" in text_of(client, "moisture_new", lot.pk)
    refused = client.post(reverse("moisture_new", args=[lot.pk]), {**form, "with_dry_g_1": "27"})
    assert refused.status_code == 422
    assert "above the dish (21.4032 g)" in refused.content.decode()
    assert 'value="27"' in refused.content.decode()
    assert client.post(reverse("moisture_new", args=[lot.pk]), form).status_code == 302
    assert MoistureDetermination.objects.get().dishes[0]["dish_g"] == "21.4032"
    assert "g per 100 g of product (wet basis)" in text_of(client, "lot", lot.pk)


def test_ph_is_recorded_and_shown(bench: Bench, client: Client) -> None:
    lot = make_lot(bench, "SB-1", "0.6315", "0.6331")
    form = {
        "value_1": "5.62",
        "value_2": "5.63",
        "temperature_c": "24.8",
        "method": "glass electrode",
        "nominal_1": "4.01",
        "read_1": "4.02",
        "temperature_c_1": "24.8",
        "nominal_2": "7.00",
        "read_2": "6.99",
        "limit": "0.05",
    }
    sign_in(client, bench.analyst)
    assert "pH with its buffers" in text_of(client, "ph_new", lot.pk)
    refused = client.post(reverse("ph_new", args=[lot.pk]), {**form, "read_2": "699"})
    assert refused.status_code == 422
    assert "a pH from 0 to 14" in refused.content.decode()
    assert client.post(reverse("ph_new", args=[lot.pk]), form).status_code == 302
    assert PhDetermination.objects.get().values == ["5.62", "5.63"]
    assert "pH 5.62" in text_of(client, "lot", lot.pk)


def test_what_people_type_is_shown_and_never_run(bench: Bench, client: Client) -> None:
    """Script text in every free-text field that these pages show."""
    lot = make_lot(bench, "SB-1", "0.6315", "0.6331", position=SCRIPT)
    Lot.objects.update(description=SCRIPT, customer=SCRIPT)
    Run.objects.filter(a_w="0.6331").update(void_reason=SCRIPT, plausibility=SCRIPT, override_reason=SCRIPT)
    bench.product.name = SCRIPT
    bench.product.save()
    key_again(bench, lot)
    judge(bench, lot)
    deviation = perform(HoldLot(lot, SCRIPT), By(bench.manager, timezone.now()))
    Deviation.objects.update(cause=SCRIPT, action=SCRIPT, closed_at=NOW, closed_by=bench.officer)
    sign_in(client, bench.officer)
    for name, args in (
        ("lots", ()),
        ("lot", (lot.pk,)),
        ("sign", ()),
        ("deviation", (deviation.pk,)),
        ("record", ("R000001",)),
        ("records", ()),
        ("certificate", ("R000001",)),
    ):
        page = text_of(client, name, *args)
        assert "<script>alert" not in page, name
    assert "&lt;script&gt;alert" in text_of(client, "lot", lot.pk)
    refused = client.post(reverse("deviations"), {"kind": SCRIPT, "what": SCRIPT, "lot": SCRIPT})
    assert "<script>alert" not in refused.content.decode()


def test_another_plant_s_objects_are_not_found(bench: Bench, client: Client) -> None:
    lot = make_lot(bench, "SB-1", "0.6315", "0.6331")
    record = judge(bench, lot)
    deviation = perform(HoldLot(lot, "held"), By(bench.manager, NOW))
    other = make_bench("other-plant")
    sign_in(client, other.officer)
    assert "SB-1" not in text_of(client, "lots") + text_of(client, "deviations") + text_of(client, "sign")
    for name, args in (
        ("lot", [lot.pk]),
        ("moisture_new", [lot.pk]),
        ("ph_new", [lot.pk]),
        ("deviation", [deviation.pk]),
    ):
        assert client.get(reverse(name, args=args)).status_code == 404, name
    for name, args in (("lot_act", [lot.pk, "hold"]), ("deviation_act", [deviation.pk, "close"])):
        assert client.post(reverse(name, args=args)).status_code == 404, name
    form = {"meaning": "reviewed", "records": [record.record], "password": make.PASSWORD}
    assert client.post(reverse("sign"), form).status_code == 404


def test_who_is_not_signed_in_sees_nothing(bench: Bench, client: Client) -> None:
    for name in ("lots", "deviations", "sign"):
        assert client.get(reverse(name)).status_code == 302


def test_a_lot_with_a_closing_check_shows_both(bench: Bench, client: Client) -> None:
    lot = make_lot(bench, "SB-1", "0.6315", "0.6331")
    closing = make_check(bench.instrument, bench.method, bench.analyst, OPENED + timedelta(minutes=90), "closing")
    page = text_of(sign_in(client, bench.analyst), "lot", lot.pk)
    assert f"Check {bench.opening.pk}, before the readings" in page
    assert f"Check {closing.pk}, after the readings" in page


@pytest.mark.parametrize("name", ["before", "product"])
@pytest.mark.parametrize("key", ["9" * 5000, "99999999999999999999", "\u0663"])
def test_a_list_asked_for_with_no_key_of_ours_shows_all(bench: Bench, client: Client, name: str, key: str) -> None:
    make_lot(bench, "SB-1")
    assert "SB-1" in text_of(sign_in(client, bench.auditor), "lots", **{name: key})
    long = reverse("lot_act", args=[1, "judge"]).replace("/1/", f"/{'9' * 5000}/")
    assert client.post(long).status_code == 404


def test_a_probability_in_a_list_leads_to_how_it_was_found(bench: Bench, client: Client) -> None:
    lot = make_lot(bench, "SB-1", "0.6315", "0.6331")
    key_again(bench, lot)
    judge(bench, lot)
    sign_in(client, bench.manager)
    place = f'href="{reverse("lot", args=[lot.pk])}#verdict"'
    for page in (text_of(client, "lots"), text_of(client, "sign", meaning="reviewed")):
        assert f"<a {place}>&gt; 99.9 %</a>" in page
    page = text_of(client, "lot", lot.pk)
    shown = page[page.index('id="verdict"') :]
    assert "how do we know" in shown[: shown.index("</section>")].casefold()


@pytest.mark.parametrize("app", ["lots", "records", "checks"])
def test_pages_listen_to_acts_that_there_are(app: str) -> None:
    found = {
        name
        for place in (Path(site.__file__).parent / app / "templates").rglob("*.html")
        for names in re.findall(r"{% block about %}(.*?){% endblock %}", place.read_text(encoding="utf-8"))
        for name in names.split()
    }
    assert found
    assert found <= set(ACTIONS)
