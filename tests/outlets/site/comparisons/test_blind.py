"""Blind references: hidden until read, read by one person, and what a decision does to a competence."""

from __future__ import annotations

from datetime import date

import pytest
from django.db import connection
from django.test import Client
from django.urls import reverse
from tests.outlets.site import make
from tests.outlets.site.browse import sign_in
from tests.outlets.site.lots.bench_day import NOW, Bench

from isohume.foundation.quantity import InputError
from isohume.outlets.site.comparisons.actions.decide_blind_reference import DecideBlindReference
from isohume.outlets.site.comparisons.actions.read_blind_reference import ReadBlindReference
from isohume.outlets.site.comparisons.actions.set_blind_reference import SetBlindReference, committed
from isohume.outlets.site.comparisons.due import due_items
from isohume.outlets.site.comparisons.models import BlindReference
from isohume.outlets.site.ledger.actions import By, Refused, perform
from isohume.outlets.site.lots.models import Deviation
from isohume.outlets.site.people.competence import reasons_against
from isohume.outlets.site.people.models import Competence
from isohume.outlets.site.people.roles import MANAGER

VALUE = "0.75318"  # five digits, so that no page holds them by chance


@pytest.fixture
def blind(bench: Bench) -> BlindReference:
    """One that the analyst is to read."""
    typed = ("BR-7", str(bench.analyst.pk), str(bench.method.method.pk), VALUE, "0.005", "NaCl, table of 1977")
    return perform(SetBlindReference(bench.site, *typed), By(bench.manager, NOW))


def read(bench: Bench, blind: BlindReference, result: str) -> BlindReference:
    """The analyst reads it."""
    return perform(ReadBlindReference(blind, result, str(bench.instrument.pk)), By(bench.analyst, NOW))


def decide(bench: Bench, blind: BlindReference, outcome: str, lapses_on: str = "2027-06-30") -> BlindReference:
    """The manager decides."""
    return perform(DecideBlindReference(blind, outcome, lapses_on, "Read on OW-1"), By(bench.manager, NOW))


def test_the_value_is_nowhere_before_it_is_read(bench: Bench, blind: BlindReference, client: Client) -> None:
    pages = [reverse("blind_references"), blind.get_absolute_url(), reverse("comparisons")]
    pages += [reverse("trail", args=["blindreference", blind.pk]), reverse("blind_read", args=[blind.pk])]
    for person in (bench.analyst, bench.manager, bench.auditor):
        sign_in(client, person)
        for page in pages:
            text = client.get(page).content.decode()
            assert VALUE not in text, page
            assert blind.salt not in text, page
    with connection.cursor() as cursor:
        cursor.execute("SELECT payload FROM ledger")
        ledger = b"".join(bytes(payload) if not isinstance(payload, str) else payload.encode() for (payload,) in cursor)
    assert VALUE.encode() not in ledger
    assert blind.commitment.encode() in ledger
    read(bench, blind, "0.7551")
    assert VALUE in client.get(blind.get_absolute_url()).content.decode()


def test_digest_as_the_page_says_it(blind: BlindReference) -> None:
    from hashlib import sha256

    assert blind.commitment == sha256(f"{blind.salt}:{VALUE}".encode()).hexdigest() == committed(VALUE, blind.salt)


def test_only_the_person_it_was_set_for_reads_it_and_once(bench: Bench, blind: BlindReference) -> None:
    with pytest.raises(Refused, match="nobody else reads it"):
        perform(ReadBlindReference(blind, "0.755", str(bench.instrument.pk)), By(bench.manager, NOW))
    read(bench, blind, "0.755")
    with pytest.raises(Refused, match="read already"):
        read(bench, blind, "0.753")


def test_a_value_changed_behind_the_back_is_found(bench: Bench, blind: BlindReference) -> None:
    BlindReference.objects.filter(pk=blind.pk).update(expected="0.7580")
    with pytest.raises(Refused, match="digest differs"):
        read(bench, blind, "0.7580")


@pytest.mark.parametrize(
    ("result", "within"), [("0.75818", True), ("0.75819", False), ("0.74818", True), ("0.748", False)]
)
def test_a_difference_equal_to_the_limit_is_within(
    bench: Bench, blind: BlindReference, result: str, within: bool
) -> None:
    assert read(bench, blind, result).within is within


def test_within_the_limit_refreshes_the_competence(bench: Bench, blind: BlindReference) -> None:
    method, day = bench.method.method, date(2026, 9, 20)
    assert reasons_against(bench.analyst, method, day)  # none on record
    decide(bench, read(bench, blind, "0.7551"), "competent")
    assert reasons_against(bench.analyst, method, day) == []
    (shown,) = Competence.objects.all()
    assert (shown.shown_on, shown.lapses_on) == (NOW.date(), date(2027, 6, 30))
    assert shown.evidence.startswith("Blind reference BR-7: read 0.7551, known 0.75318, limit 0.005")


def test_beyond_the_limit_refreshes_none(bench: Bench, blind: BlindReference) -> None:
    read(bench, blind, "0.7651")
    with pytest.raises(InputError, match="beyond the limit"):
        decide(bench, blind, "competent")
    assert decide(bench, blind, "not shown").state == "closed without competence"
    assert not Competence.objects.exists()


def test_nobody_decides_early_twice_or_on_the_own(bench: Bench, blind: BlindReference) -> None:
    with pytest.raises(Refused, match="not read yet"):
        decide(bench, blind, "competent")
    read(bench, blind, "0.7551")
    decide(bench, blind, "competent")
    with pytest.raises(Refused, match="already"):
        decide(bench, blind, "competent")
    other = make.make_person(bench.site, MANAGER, username="manager2")
    typed = ("BR-8", str(other.pk), str(bench.method.method.pk), VALUE, "0.005", "NaCl")
    with pytest.raises(Refused, match="for oneself"):
        perform(SetBlindReference(bench.site, *typed), By(other, NOW))
    own = perform(SetBlindReference(bench.site, *typed), By(bench.manager, NOW))
    perform(ReadBlindReference(own, "0.7551", str(bench.instrument.pk)), By(other, NOW))
    with pytest.raises(Refused, match="the own blind reference"):
        perform(DecideBlindReference(own, "competent", "2027-06-30", "x"), By(other, NOW))


@pytest.mark.parametrize("field", ["label", "person", "method", "expected", "limit", "value_source"])
def test_every_field_is_needed(bench: Bench, field: str) -> None:
    given = {
        "label": "BR-1",
        "person": str(bench.analyst.pk),
        "method": str(bench.method.method.pk),
        "expected": "0.753",
        "limit": "0.005",
        "value_source": "NaCl",
        field: "",
    }
    with pytest.raises(InputError) as caught:
        perform(SetBlindReference(bench.site, **given), By(bench.manager, NOW))
    assert caught.value.field == field


def test_it_is_due_to_be_read_and_then_to_be_decided(bench: Bench, blind: BlindReference) -> None:
    (due,) = due_items(bench.site, NOW)
    assert (due.what, due.due_on) == ("Blind reference BR-7, to be read by Analyst", date(2026, 9, 30))
    read(bench, blind, "0.7551")
    (due,) = due_items(bench.site, NOW)
    assert due.why == "waits for a decision"
    decide(bench, blind, "competent")
    assert list(due_items(bench.site, NOW)) == []


def test_beyond_the_limit_opens_a_deviation_that_leads_back_to_it(
    bench: Bench, blind: BlindReference, client: Client
) -> None:
    """ISO/IEC 17025, 7.7.1 with 7.10: monitoring that shows a failure is acted upon, person, instrument or value."""
    read(bench, blind, "0.7651")
    (deviation,) = Deviation.objects.all()
    assert (deviation.kind, deviation.about, deviation.closed_at) == ("blind reference", blind.ref, None)
    assert "read 0.7651 on OW-1, known 0.75318, limit 0.005" in deviation.what
    sign_in(client, bench.manager)
    page = client.get(reverse("deviation", args=[deviation.pk])).content.decode()
    assert f'<a href="{blind.get_absolute_url()}">Blind reference BR-7</a>' in page
    assert f'href="{deviation.get_absolute_url()}"' in client.get(blind.get_absolute_url()).content.decode()


def test_within_the_limit_opens_none(bench: Bench, blind: BlindReference) -> None:
    read(bench, blind, "0.7551")
    assert not Deviation.objects.exists()
