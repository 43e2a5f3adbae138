"""A form that comes twice is one entry; one that waited keeps the moment it was typed."""

from __future__ import annotations

from pathlib import Path

import pytest
from django.test import Client
from django.urls import reverse
from tests.outlets.site.bench.shift import Shift, make_shift
from tests.outlets.site.browse import sign_in

from isohume.outlets.site.bench.models import Portion
from isohume.outlets.site.ledger.trail import trail_of
from isohume.outlets.site.outbox.entry import entry_of

FORM = {"outbox_entry": "0123456789abcdef", "outbox_words": "a cup", "outbox_time": "prepared_at"}
CUP = {"code": "C", "cover": "lidded", "temperature_c": "25.0"}


def test_an_entry_is_its_form_its_content_and_its_person() -> None:
    first = entry_of(1, "/samples/1/", {**FORM, **CUP})
    again = entry_of(1, "/samples/1/", {**CUP, **FORM, "csrfmiddlewaretoken": "another"})
    assert first is not None
    assert again == first
    others = [
        entry_of(2, "/samples/1/", {**FORM, **CUP}),
        entry_of(1, "/samples/2/", {**FORM, **CUP}),
        entry_of(1, "/samples/1/", {**FORM, **CUP, "code": "D"}),
        entry_of(1, "/samples/1/", {**FORM, **CUP, "outbox_entry": "fedcba9876543210"}),
    ]
    assert len({first, *others}) == 5


def test_the_time_that_the_tablet_filled_in_is_not_content_and_a_typed_one_is() -> None:
    late = {"prepared_at": "2026-11-28T10:00:00Z", "outbox_typed_at": "2026-11-28T10:00:00Z"}
    direct = entry_of(1, "/samples/1/", {**FORM, **CUP, "prepared_at": ""})
    waited = entry_of(1, "/samples/1/", {**FORM, **CUP, **late, "outbox_filled": "prepared_at"})
    typed = entry_of(1, "/samples/1/", {**FORM, **CUP, **late, "outbox_filled": ""})
    assert direct is not None
    assert waited is not None
    assert waited.key == direct.key
    assert waited.typed_at == "2026-11-28T10:00:00+00:00"
    assert typed is not None
    assert typed.key != direct.key


def test_what_was_typed_first_is_beside_the_content() -> None:
    put_right = entry_of(1, "/samples/1/", {**FORM, **CUP, "outbox_first": "temperature_c:\n 26.0"})
    as_typed = entry_of(1, "/samples/1/", {**FORM, **CUP})
    assert put_right is not None
    assert as_typed is not None
    assert put_right.key == as_typed.key
    assert put_right.details == {"typed_first": "temperature_c: 26.0"}
    assert as_typed.details == {}


@pytest.mark.parametrize("name", ["", "short", "0123456789ABCDEF", "0123456789abcdef0"])
def test_a_form_without_a_name_of_ours_takes_no_part(name: str) -> None:
    assert entry_of(1, "/", {**FORM, "outbox_entry": name}) is None


@pytest.fixture
def shift(site_db: Path) -> Shift:
    return make_shift()


def test_the_same_form_sent_twice_makes_one_cup_and_leads_to_it(shift: Shift) -> None:
    sample = shift.sample(shift.lot("SB-1"), portions=0)
    client = Client()
    sign_in(client, shift.analyst)
    for _ in range(2):
        answer = client.post(sample.get_absolute_url(), {**FORM, **CUP})
        assert answer.status_code == 302
    cup = Portion.objects.get(sample=sample, code="C")
    assert answer["Location"] == cup.get_absolute_url()


def test_what_waited_is_answered_in_words(shift: Shift) -> None:
    sample = shift.sample(shift.lot("SB-1"), portions=0)
    client = Client()
    sign_in(client, shift.analyst)
    waited = {"HTTP_X_ISOHUME_OUTBOX": str(shift.analyst.pk)}
    late = {**FORM, **CUP, "outbox_typed_at": "2026-11-28T10:00:00Z"}
    refused = client.post(sample.get_absolute_url(), {**late, "cover": "a hat"}, **waited).json()
    assert refused["state"] == "refused"
    assert any("a hat" in reason for reason in refused["reasons"])
    assert client.post(sample.get_absolute_url(), late, **waited).json()["state"] == "kept"
    assert client.post(sample.get_absolute_url(), late, **waited).json()["state"] == "kept"
    cup = Portion.objects.get(sample=sample)
    assert trail_of(cup.ref)[0].details["typed_at"] == "2026-11-28T10:00:00+00:00"


def test_what_waited_is_never_sent_for_another_person(shift: Shift) -> None:
    sample = shift.sample(shift.lot("SB-1"), portions=0)
    client = Client()
    sign_in(client, shift.analyst)
    answer = client.post(sample.get_absolute_url(), {**FORM, **CUP}, HTTP_X_ISOHUME_OUTBOX="999")
    assert answer.json()["state"] == "waits"
    client.logout()
    answer = client.post(sample.get_absolute_url(), {**FORM, **CUP}, HTTP_X_ISOHUME_OUTBOX=str(shift.analyst.pk))
    assert answer.json()["state"] == "waits"
    assert not Portion.objects.exists()


def test_an_entry_that_is_given_up_stays_on_record(shift: Shift) -> None:
    client = Client()
    sign_in(client, shift.analyst)
    typed = {
        "words": "run of cup SB-1 / A / 1",
        "typed_at": "2026-11-28T10:00:00Z",
        "fields": '{"a_w": "0.652", "override_reason": ""}',
        "refused": "Cup A was discarded: spilt.",
    }
    no = client.post(reverse("outbox"), typed, HTTP_ACCEPT="application/json").json()
    assert not no["done"]
    assert "allowed: why this entry is not sent again" in no["reasons"][0]
    assert client.post(reverse("outbox"), {**typed, "reason": "keyed on the other tablet"}).status_code == 302
    line = trail_of(shift.analyst.ref)[-1]
    assert line.kind == "entry_set_aside"
    assert line.details["fields"] == "a_w: 0.652"
    assert line.reason == "keyed on the other tablet"
