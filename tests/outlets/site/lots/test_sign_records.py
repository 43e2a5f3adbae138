"""Signing: a fresh proof, a second person, what must be done before, and no door for a held lot."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from django.db import connection
from tests.outlets.site.lots.bench_day import (
    NOW,
    OFF,
    OPENED,
    Bench,
    judge,
    key_again,
    make_bench,
    make_check,
    make_lot,
    make_portion,
    make_run,
    proof_of,
)

from isohume.bench.record.verification import verify
from isohume.foundation.quantity.errors import InputError
from isohume.outlets.site.bench.models import Lot, Run, SecondKeying
from isohume.outlets.site.ledger.actions import By, Refused, perform
from isohume.outlets.site.ledger.trail import trail_of
from isohume.outlets.site.lots.actions.hold_lot import HoldLot
from isohume.outlets.site.lots.actions.open_deviation import OpenDeviation
from isohume.outlets.site.lots.actions.sign_records import SignRecords
from isohume.outlets.site.lots.frozen import questions
from isohume.outlets.site.lots.models import LotRecord
from isohume.outlets.site.people.models import Person
from isohume.outlets.site.people.proof import prove_by_password


@pytest.fixture
def bench(site_db: Path) -> Bench:
    """A bench whose people accepted the policy of signatures."""
    made = make_bench()
    Person.objects.update(policy_accepted_at=NOW - timedelta(days=30))
    return made


@pytest.fixture
def record(bench: Bench) -> LotRecord:
    """A judged lot, keyed twice, ready for review."""
    return ready(bench, "SB-0916-01")


def ready(bench: Bench, code: str, *read: str) -> LotRecord:
    """A judged lot, keyed twice."""
    lot = make_lot(bench, code, *(read or ("0.6315", "0.6331")))
    key_again(bench, lot)
    return judge(bench, lot)


def sign(bench: Bench, person: Person, meaning: str, *records: LotRecord, **more: Any) -> Any:
    """Sign now, with the password given again."""
    given = {"proof": proof_of(person), **more}
    return perform(SignRecords(bench.site, list(records), meaning, **given), By(person, NOW))


def refusal(bench: Bench, person: Person, meaning: str, record: LotRecord, **more: Any) -> str:
    """Why signing is refused; nothing may be signed by it."""
    before = len(questions().signatures_of(record.record))
    fresh = LotRecord.objects.get(pk=record.pk)
    with pytest.raises(Refused) as refused:
        sign(bench, person, meaning, fresh, **more)
    assert len(questions().signatures_of(record.record)) == before
    return " ".join(refused.value.reasons)


def test_reviewed_then_released(bench: Bench, record: LotRecord, site_db: Path) -> None:
    sign(bench, bench.manager, "reviewed", record)
    sign(bench, bench.officer, "released", record)
    assert Lot.objects.get().state == "released"
    first, second = questions().signatures_of(record.record)
    assert (first.person, first.printed_name, first.role, first.meaning) == (
        "manager",
        "Manager",
        "manager",
        "reviewed",
    )
    assert (second.person, second.role, second.meaning, second.digest) == (
        "officer",
        "release officer",
        "released",
        record.digest,
    )
    kinds = [line.kind for line in trail_of(record.ref)]
    assert kinds == ["record", "lot_judged", "signature", "records_signed", "signature", "records_signed"]
    assert [line.kind for line in trail_of(record.lot.ref)][-2:] == ["signature", "records_signed"]
    connection.close()
    assert verify(site_db).verified


def test_one_act_covers_a_list_each_record_with_its_own_line(bench: Bench) -> None:
    records = [ready(bench, f"SB-0916-0{i}") for i in range(1, 4)]
    signatures = sign(bench, bench.manager, "reviewed", *records)
    assert {s.record for s in signatures} == {r.record for r in records}
    assert {(s.act, s.of) for s in signatures} == {(signatures[0].act, 3)}
    assert {s.digest for s in signatures} == {r.digest for r in records}


def test_all_of_a_list_or_none(bench: Bench) -> None:
    good, bad = ready(bench, "SB-0916-01"), judge(bench, make_lot(bench, "SB-0916-02", "0.6315", "0.6331"))
    with pytest.raises(Refused, match=f"{bad.record}: Run .* not keyed a second time"):
        sign(bench, bench.manager, "reviewed", good, bad)
    assert questions().signatures_of(good.record) == []


@pytest.mark.parametrize("proof", ["none", "stale", "another person's", "wrong password"])
def test_without_a_fresh_proof_of_one_s_own_nothing_is_signed(bench: Bench, record: LotRecord, proof: str) -> None:
    given = {
        "none": None,
        "stale": proof_of(bench.manager, NOW - timedelta(minutes=2)),
        "another person's": proof_of(bench.officer),
        "wrong password": prove_by_password(bench.manager, "not my password", NOW),
    }[proof]
    assert "password was not given again" in refusal(bench, bench.manager, "reviewed", record, proof=given)


def test_nobody_signs_for_a_lot_whose_runs_he_recorded(bench: Bench, record: LotRecord) -> None:
    Run.objects.filter(pk=record.runs.first().pk).update(by=bench.manager)
    assert "recorded runs of lot SB-0916-01" in refusal(bench, bench.manager, "reviewed", record)
    Run.objects.update(by=bench.officer)
    assert "recorded runs" in refusal(bench, bench.officer, "released", record)


def test_reviewed_needs_every_typed_run_keyed_again_in_agreement(bench: Bench) -> None:
    lot = make_lot(bench, "SB-0916-01", "0.6315", "0.6331")
    one = judge(bench, lot)
    first, second = one.runs.order_by("pk")
    said = refusal(bench, bench.manager, "reviewed", one)
    assert f"Run {first.pk}, {second.pk} was typed" in said
    key_again(bench, lot)
    SecondKeying.objects.create(run=first, a_w="0.6351", agrees=False, words="differs", at=NOW, by=bench.manager)
    assert f"Run {first.pk} was typed" in refusal(bench, bench.manager, "reviewed", one)
    SecondKeying.objects.create(run=first, a_w="0.6315", agrees=True, words="agrees", at=NOW, by=bench.analyst)
    assert f"Run {first.pk} was typed" in refusal(bench, bench.manager, "reviewed", one), "one's own keying is none"


def test_released_needs_a_review_and_the_role(bench: Bench, record: LotRecord) -> None:
    assert "is not reviewed" in refusal(bench, bench.officer, "released", record)
    sign(bench, bench.manager, "reviewed", record)
    assert "Signing released is for: release officer" in refusal(bench, bench.manager, "released", record)
    assert "this is for" in refusal(bench, bench.analyst, "released", record)
    assert "this is for" in refusal(bench, bench.auditor, "reviewed", record)


def test_a_quality_limit_may_be_reviewed_and_released_by_one_person(bench: Bench, record: LotRecord) -> None:
    sign(bench, bench.officer, "reviewed", record)
    sign(bench, bench.officer, "released", record)
    assert Lot.objects.get().state == "released"


def test_a_safety_limit_needs_two_people(bench: Bench) -> None:
    bench.product.specifications.update(kind="safety", source="HACCP plan of the plant")
    record = ready(bench, "SB-0916-01", "0.6115", "0.6121")
    sign(bench, bench.officer, "reviewed", record)
    assert "two people" in refusal(bench, bench.officer, "released", record)
    sign(bench, bench.officer_2, "released", record)
    assert Lot.objects.get().state == "released"


def test_a_superseded_record_is_signed_by_nobody(bench: Bench, record: LotRecord) -> None:
    make_check(bench.instrument, bench.method, bench.analyst, OPENED + timedelta(minutes=90), "closing")
    second = judge(bench, record.lot, "closing check added")
    assert f"superseded by {second.record}" in refusal(bench, bench.manager, "reviewed", record)


def test_a_record_that_the_bench_has_left_behind_is_signed_by_nobody(bench: Bench, record: LotRecord) -> None:
    sign(bench, bench.manager, "reviewed", record)
    sample = record.lot.samples.get()
    later = make_run(bench, make_portion(bench, sample, "Z"), "0.6900", OPENED + timedelta(hours=2))
    assert f"Run {later.pk} came after record {record.record}" in refusal(bench, bench.officer, "released", record)
    Run.objects.filter(pk=later.pk).delete()
    first = record.runs.order_by("pk").first()
    Run.objects.filter(pk=first.pk).update(void_reason="wrong cup")
    said = refusal(bench, bench.officer, "released", record)
    assert f"Run {first.pk} was voided or corrected after record" in said


def test_a_check_that_failed_since_is_not_passed_over(bench: Bench, record: LotRecord) -> None:
    sign(bench, bench.manager, "reviewed", record)
    make_check(bench.instrument, bench.method, bench.analyst, OPENED + timedelta(minutes=90), "closing", OFF)
    assert "failed after record" in refusal(bench, bench.officer, "released", record)


def test_a_held_lot_is_signed_out_by_no_door(bench: Bench, record: LotRecord) -> None:
    sign(bench, bench.manager, "reviewed", record)
    perform(HoldLot(record.lot, "a customer called"), By(bench.manager, NOW))
    said = refusal(bench, bench.officer, "released", record)
    assert "on hold: only a judged lot is released" in said
    assert "(hold) of lot SB-0916-01 is open" in said
    Lot.objects.update(state="judged")  # whatever a state says, an open deviation still holds the lot
    assert "(hold) of lot SB-0916-01 is open" in refusal(bench, bench.officer, "released", record)


@pytest.mark.parametrize("through", ["run", "opening check"])
def test_a_deviation_of_a_run_or_of_its_check_holds_the_lot(bench: Bench, record: LotRecord, through: str) -> None:
    sign(bench, bench.manager, "reviewed", record)
    kind, given = {
        "run": ("keyings differ", {"run": record.runs.first()}),
        "opening check": ("failed check", {"failed_check": bench.opening}),
    }[through]
    perform(OpenDeviation(bench.site, kind, "found late", **given), By(bench.manager, NOW))
    assert f"({kind}) of lot SB-0916-01 is open" in refusal(bench, bench.officer, "released", record)


def test_a_failed_lot_is_not_released_and_can_be_rejected_with_a_reason(bench: Bench) -> None:
    record = ready(bench, "SB-0916-01", "0.6715", "0.6721")
    sign(bench, bench.manager, "reviewed", record)
    assert "says hold, not release" in refusal(bench, bench.officer, "released", record)
    with pytest.raises(InputError, match="rejection_reason"):
        sign(bench, bench.officer, "rejected", record)
    sign(bench, bench.officer, "rejected", record, rejection_reason="too wet, goes to feed")
    assert Lot.objects.get().state == "rejected"
    assert questions().signatures_of(record.record)[-1].statement == "I reject this lot. too wet, goes to feed"
    assert "is rejected already" in refusal(bench, bench.officer_2, "approved", record)


def test_a_release_is_signed_once(bench: Bench, record: LotRecord) -> None:
    sign(bench, bench.manager, "reviewed", record)
    assert "signed record R000001 as reviewed already" in refusal(bench, bench.manager, "reviewed", record)
    sign(bench, bench.officer, "released", record)
    assert "released already" in refusal(bench, bench.officer_2, "released", record)


def test_the_first_signature_accepts_the_policy(bench: Bench, record: LotRecord) -> None:
    Person.objects.filter(pk=bench.manager.pk).update(policy_accepted_at=None)
    with pytest.raises(InputError, match="accepts_policy"):
        sign(bench, bench.manager, "reviewed", record)
    assert questions().signatures_of(record.record) == []
    sign(bench, bench.manager, "reviewed", record, accepts_policy=True)
    assert Person.objects.get(pk=bench.manager.pk).policy_accepted_at == NOW


def test_unknown_meanings_empty_lists_and_one_lot_twice(bench: Bench, record: LotRecord) -> None:
    for meaning, records, field in (("liked", [record], "meaning"), ("reviewed", [], "records")):
        with pytest.raises(InputError, match=field):
            sign(bench, bench.manager, meaning, *records)
    with pytest.raises(InputError, match="each lot once"):
        sign(bench, bench.manager, "reviewed", record, record)


def test_another_plant_signs_nothing_here(bench: Bench, record: LotRecord) -> None:
    other = make_bench("other-plant")
    with pytest.raises(Refused, match="another plant"):
        sign(other, other.manager, "reviewed", record)
    with pytest.raises(Refused, match="another plant"):
        sign(bench, other.manager, "reviewed", record)
