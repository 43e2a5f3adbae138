"""Signing: a fresh proof, a second person, what must be done before, and no door for a held lot."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from tests.outlets.site.lots.bench_day import (
    GOOD,
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
from isohume.outlets.site.checks.models import Check
from isohume.outlets.site.ledger.actions import By, Refused, perform
from isohume.outlets.site.ledger.trail import trail_of
from isohume.outlets.site.lots.actions.close_deviation import CloseDeviation
from isohume.outlets.site.lots.actions.hold_lot import HoldLot
from isohume.outlets.site.lots.actions.open_deviation import OpenDeviation
from isohume.outlets.site.lots.actions.sign_records import SignRecords
from isohume.outlets.site.lots.evidence_of_lot import runs_of
from isohume.outlets.site.lots.frozen import frozen, outdated, questions
from isohume.outlets.site.lots.models import LotRecord, MoistureDetermination, PhDetermination
from isohume.outlets.site.people.models import Person
from isohume.outlets.site.people.proof import prove_by_password
from isohume.outlets.site.register.models import SolutionLot


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
    assert "failed, and record R000001 does not know it" in refusal(bench, bench.officer, "released", record)


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


def test_a_rejection_stays_whatever_a_state_says(bench: Bench, record: LotRecord) -> None:
    sign(bench, bench.manager, "reviewed", record)
    sign(bench, bench.officer, "rejected", record, rejection_reason="mould found")
    Lot.objects.update(state="judged")  # as an act on a lot read before the rejection might leave it
    for person, meaning in ((bench.officer, "released"), (bench.officer_2, "reviewed"), (bench.officer, "approved")):
        said = refusal(bench, person, meaning, record)
        assert "Record R000001 of lot SB-0916-01 is signed as rejected: that stays" in said
    assert Lot.objects.get().state == "judged"


def hand_in(bench: Bench, record: LotRecord, how: str) -> None:
    """The manager does something with the evidence of a lot."""
    run = make_run(bench, make_portion(bench, record.lot.samples.get(), "Z"), "0.6320", OPENED + timedelta(minutes=30))
    if how == "voided runs":
        Run.objects.filter(pk=run.pk).update(void_reason="wrong cup", voided_by=bench.manager)
    elif how == "corrected runs":
        Run.objects.filter(pk=run.pk).update(corrects=record.runs.first(), by=bench.manager)
    elif how == "recorded the pH":
        PhDetermination.objects.create(
            lot=record.lot, values=["4.2"], temperature_c="25.0", method="glass electrode", buffers=[], limit="0.05",
            at=NOW, by=bench.manager,
        )  # fmt: skip
    elif how == "recorded moisture":
        MoistureDetermination.objects.create(
            lot=record.lot, basis="wet", method="oven", dishes=[], check_nominal_g="100", check_read_g="100",
            check_limit_g="0.01", at=NOW, by=bench.manager,
        )  # fmt: skip
    else:
        at = OPENED + timedelta(minutes=10 if how == "voided check" else 90)
        read = OFF if how == "voided check" else GOOD
        check = make_check(bench.instrument, bench.method, bench.manager, at, "closing", read)
        if how == "voided check":
            Check.objects.filter(pk=check.pk).update(voided_at=NOW, voided_by=bench.manager, by=bench.analyst)


@pytest.mark.parametrize(
    "how",
    ["voided runs", "corrected runs", "recorded the pH", "recorded moisture", "recorded check", "voided check"],
)
def test_who_had_a_hand_in_the_evidence_signs_nothing_of_it(bench: Bench, record: LotRecord, how: str) -> None:
    hand_in(bench, record, how)
    said = refusal(bench, bench.manager, "reviewed", record)
    assert f"Manager {how}" in said
    assert "lot SB-0916-01" in said
    assert "another person signs" in said
    assert "another person signs" not in refusal(bench, bench.officer, "released", record), "only who did it"


def test_the_opening_check_s_maker_does_not_review(bench: Bench, record: LotRecord) -> None:
    Check.objects.filter(pk=bench.opening.pk).update(by=bench.manager)
    said = refusal(bench, bench.manager, "reviewed", record)
    assert "Manager recorded check 1 of OW-1, on which lot SB-0916-01 stands: another person signs" in said


def change(bench: Bench, record: LotRecord, what: str) -> None:
    """Something of what a record was judged from changes, with another person than the signers."""
    if what == "The uncertainty budget":
        bench.method.budgets.create(basis="own data", u_other="0.0050", s_r="0.0030", source="new data", since=NOW)
    elif what == "The specification":
        bench.product.specifications.update(upper="0.640")
    elif what == "The pH":
        buffers = [{"nominal": n, "read": n, "temperature_c": "25.0"} for n in ("4.00", "7.00")]
        PhDetermination.objects.create(
            lot=record.lot, values=["4.2"], temperature_c="25.0", method="glass electrode", buffers=buffers,
            limit="0.05", at=NOW, by=bench.analyst,
        )  # fmt: skip
    elif what == "The readings file":
        Run.objects.filter(pk=record.runs.first().pk).update(a_w="0.6316")
    else:
        SolutionLot.objects.filter(solution="NaCl").update(withdrawn_reason="weighed wrongly")


@pytest.mark.parametrize(
    "what",
    ["The uncertainty budget", "The specification", "The pH", "The readings file", "Lot NaCl-26-04 is withdrawn"],
)
def test_what_a_record_was_judged_from_has_changed(bench: Bench, record: LotRecord, what: str) -> None:
    sign(bench, bench.manager, "reviewed", record)
    change(bench, record, what)
    for person, meaning in ((bench.officer_2, "reviewed"), (bench.officer, "released")):
        said = refusal(bench, person, meaning, record)
        assert what in said
        assert "judge lot SB-0916-01 again" in said.replace("Judge", "judge")


def test_what_is_released_keeps_the_register_of_its_day(bench: Bench, record: LotRecord) -> None:
    sign(bench, bench.manager, "reviewed", record)
    sign(bench, bench.officer, "released", record)
    change(bench, record, "The uncertainty budget")
    lot = Lot.objects.get()
    kept = LotRecord.objects.get()
    content = frozen(kept.record).content
    assert outdated(kept, content, runs_of(lot)) == []
    change(bench, record, "Lot NaCl-26-04 is withdrawn")
    assert "withdrawn" in outdated(kept, content, runs_of(lot))[0], "what it stands on is another matter"


def test_a_passed_closing_check_leaves_a_record_as_it_is(bench: Bench, record: LotRecord) -> None:
    make_check(bench.instrument, bench.method, bench.analyst, OPENED + timedelta(minutes=90), "closing")
    sign(bench, bench.manager, "reviewed", record)
    sign(bench, bench.officer, "released", record)
    assert Lot.objects.get().state == "released"


def test_a_release_that_a_hold_took_back_needs_a_record_of_its_own(bench: Bench, record: LotRecord) -> None:
    sign(bench, bench.manager, "reviewed", record)
    sign(bench, bench.officer, "released", record)
    held = perform(HoldLot(Lot.objects.get(), "a customer called"), By(bench.analyst, NOW))
    perform(CloseDeviation(held, "wrong pallet", "found", "", proof_of(bench.manager)), By(bench.manager, NOW))
    lot = Lot.objects.get()
    assert lot.state == "on hold", "no release comes back by itself"
    assert "was released, and the lot was held since" in refusal(bench, bench.officer_2, "released", record)
    with pytest.raises(InputError, match=r"amendment_reason.*was released, and held since"):
        judge(bench, lot)
    second = judge(bench, lot, "complaint settled: the pallet was another lot's")
    assert (second.record, second.disposition, lot.state) == ("R000002", "release", "judged")
    assert judge(bench, lot) == second, "now the same evidence finds it again"
    sign(bench, bench.manager, "reviewed", second)
    sign(bench, bench.officer, "released", second)
    assert Lot.objects.get().state == "released"


def test_a_list_of_twelve_is_signed_with_few_statements_a_record(bench: Bench) -> None:
    records = [ready(bench, f"SB-0916-{i:02}") for i in range(12)]
    with CaptureQueriesContext(connection) as asked:
        sign(bench, bench.manager, "reviewed", *records)
    assert len(asked) < 12 * 40
    assert all(len(questions().signatures_of(record.record)) == 1 for record in records)
