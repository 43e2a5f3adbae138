"""Judging a lot: the command line's code, a frozen record, and a state that follows."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path

import pytest
from django.db import connection
from tests.outlets.site import make
from tests.outlets.site.lots.bench_day import (
    GOOD,
    NOW,
    OFF,
    OPENED,
    Bench,
    judge,
    make_bench,
    make_check,
    make_lot,
    make_portion,
    make_run,
)

from isohume.bench.record.certification import certify
from isohume.bench.record.verification import verify
from isohume.foundation.quantity.errors import InputError
from isohume.outlets.site.bench.models import Portion, Run
from isohume.outlets.site.checks.models import Check
from isohume.outlets.site.ledger.actions import By, Refused, perform
from isohume.outlets.site.ledger.trail import trail_of
from isohume.outlets.site.lots.actions.judge_lot import JudgeLot
from isohume.outlets.site.lots.evidence_of_lot import evidence_of
from isohume.outlets.site.lots.frozen import frozen, questions
from isohume.outlets.site.lots.lot_inputs import write_inputs
from isohume.outlets.site.lots.models import Deviation, LotRecord, MoistureDetermination, PhDetermination
from isohume.outlets.site.register.models import Budget, SolutionLot


@pytest.fixture
def bench(site_db: Path) -> Bench:
    """A bench with a checked instrument."""
    return make_bench()


def test_a_lot_is_judged_frozen_and_told(bench: Bench, site_db: Path) -> None:
    lot = make_lot(bench, "SB-0916-01", "0.6315", "0.6331")
    record = judge(bench, lot)
    assert (record.record, record.verdict, record.disposition) == ("R000001", "pass", "release")
    assert record.value == pytest.approx(0.6323, abs=1e-9)
    assert record.runs.count() == 2
    assert lot.state == "judged"
    content = frozen(record.record).content
    assert [run["run"] for run in content["readings"]] == [str(run.pk) for run in record.runs.order_by("pk")]
    for ref in (lot.ref, record.ref, record.runs.first().ref, bench.opening.ref):
        assert "lot_judged" in [line.kind for line in trail_of(ref)]
    assert [line.kind for line in trail_of(record.ref)] == ["record", "lot_judged"]
    connection.close()
    assert verify(site_db).verified


def test_the_same_evidence_makes_the_same_record(bench: Bench) -> None:
    lot = make_lot(bench, "SB-0916-01", "0.6315", "0.6331")
    first, again = judge(bench, lot), judge(bench, lot, at=NOW + timedelta(hours=1))
    assert first == again
    assert LotRecord.objects.count() == 1


def test_the_command_line_judges_the_site_s_inputs_alike(bench: Bench, tmp_path: Path) -> None:
    """Every kind of run, companions with decimal commas, a closing check: equal verdict, value, u and reasons."""
    lot = make_lot(bench, "SB-0916-01", "0.6315", "0,6331", position='line 1, "start" \\ left')
    sample = lot.samples.get()
    void = make_run(bench, make_portion(bench, sample, "C"), "0.6702", OPENED + timedelta(minutes=40))
    Run.objects.filter(pk=void.pk).update(void_reason="lid left off; found before the value was read")
    slip = make_run(bench, make_portion(bench, sample, "D"), "0.6813", OPENED + timedelta(minutes=44))
    right = make_run(
        bench,
        slip.portion,
        "0.6318",
        OPENED + timedelta(minutes=44),
        corrects=slip,
        correction_reason="keyed 81 for 18",
        override_reason="read at once, the line waits",
    )
    make_check(bench.instrument, bench.method, bench.analyst, OPENED + timedelta(minutes=90), "closing")
    _companions(bench, lot)
    record = judge(bench, lot)
    ours = frozen(record.record).content
    folder = tmp_path / "given-again"
    folder.mkdir()
    theirs = certify(write_inputs(evidence_of(lot), folder), tmp_path / "cli", NOW)
    for part in ("decision", "determination", "budget", "readings", "check", "closing_check", "companions", "inputs"):
        assert theirs.record[part] == ours[part], part
    assert theirs.record["determination"]["value"] == record.value
    uses = {run["run"]: run["use"] for run in ours["readings"]}
    assert (uses[str(void.pk)], uses[str(slip.pk)], uses[str(right.pk)]) == ("void", "void", "replicate")
    reasons = {run["run"]: run["void_reason"] for run in ours["readings"]}
    assert reasons[str(slip.pk)] == f"corrected by run {right.pk}: keyed 81 for 18"
    assert [companion["quantity"] for companion in ours["companions"]] == ["moisture", "pH"]
    assert "4.01 read 4.02 at 24.8 degC" in ours["companions"][1]["check"]["text"]


def _companions(bench: Bench, lot: object) -> None:
    shared = {"lot": lot, "at": NOW, "by": bench.analyst}
    MoistureDetermination.objects.create(
        basis="wet",
        method="oven, 102 degC, 4 h",
        dishes=[{"dish_g": "21,4032", "with_sample_g": "26.4418", "with_dry_g": "25.8461"}],
        check_nominal_g="20.0000",
        check_read_g="20.0001",
        check_limit_g="0.0005",
        u_wet_basis="0.0006",
        **shared,
    )
    PhDetermination.objects.create(
        values=["5.62", "5.63"],
        temperature_c="24.8",
        method="glass electrode",
        buffers=[
            {"nominal": "4.01", "read": "4.02", "temperature_c": "24.8"},
            {"nominal": "7.00", "read": "6.99", "temperature_c": ""},
        ],
        limit="0.05",
        u="0.02",
        **shared,
    )


def test_every_input_file_is_kept(bench: Bench) -> None:
    record = judge(bench, make_lot(bench, "SB-0916-01", "0.6315", "0.6331"))
    for file in frozen(record.record).content["inputs"]:
        body = questions().file(file["sha256"])
        assert body is not None
        assert len(body) == file["bytes"]


def test_without_a_budget_of_its_own_the_starter_budget_decides(bench: Bench) -> None:
    Budget.objects.all().delete()
    content = frozen(judge(bench, make_lot(bench, "SB-0916-01", "0.6015")).record).content
    assert content["uncertainty"]["u_other"] == "0.009"
    assert "starter budget" in content["uncertainty"]["source"]


def test_a_collaborative_study_decides_with_its_reproducibility(bench: Bench) -> None:
    Budget.objects.update(basis="collaborative study", s_reproducibility="0.0080", u_other="", s_r="0.0030")
    content = frozen(judge(bench, make_lot(bench, "SB-0916-01", "0.6015", "0.6020")).record).content
    assert (content["uncertainty"]["u_other"], content["uncertainty"]["s_r"]) == ("0.0080", "0.0030")


def test_beyond_the_limit_a_deviation_opens_once_and_the_lot_is_held(bench: Bench) -> None:
    lot = make_lot(bench, "SB-0916-01", "0.6715", "0.6721")
    assert judge(bench, lot).verdict == "fail"
    assert lot.state == "on hold"
    assert [d.kind for d in lot.deviations.all()] == ["out of specification"]
    make_check(bench.instrument, bench.method, bench.analyst, OPENED + timedelta(minutes=90), "closing")
    judge(bench, lot, "closing check added")
    assert Deviation.objects.count() == 1


def test_portions_that_do_not_agree_leave_the_lot_open_and_more_need_no_reason(bench: Bench) -> None:
    lot = make_lot(bench, "SB-0916-01", "0.6015", "0.6331")
    assert judge(bench, lot).verdict == "more portions needed"
    assert lot.state == "open"
    sample = lot.samples.get()
    for code, a_w in (("C", "0.6100"), ("D", "0.6200")):
        make_run(bench, make_portion(bench, sample, code), a_w, OPENED + timedelta(hours=1))
    second = judge(bench, lot)
    assert second.record == "R000002"
    assert frozen("R000002").content["earlier_records"] == ["R000001"]


def test_another_record_needs_a_reason_and_each_its_own(bench: Bench) -> None:
    lot = make_lot(bench, "SB-0916-01", "0.6315", "0.6331")
    judge(bench, lot)
    make_check(bench.instrument, bench.method, bench.analyst, OPENED + timedelta(minutes=90), "closing")
    with pytest.raises(InputError, match=r"amendment_reason: .*gets another record"):
        judge(bench, lot)
    assert judge(bench, lot, "closing check added").record == "R000002"
    assert judge(bench, lot).record == "R000002", "the last record's evidence finds it, without its reason"
    assert LotRecord.objects.count() == 2


def test_a_failed_check_after_the_readings_takes_the_verdict(bench: Bench) -> None:
    lot = make_lot(bench, "SB-0916-01", "0.6315", "0.6331")
    make_check(bench.instrument, bench.method, bench.analyst, OPENED + timedelta(minutes=90), "opening", OFF)
    record = judge(bench, lot)
    assert record.verdict == "no verdict"
    assert lot.state == "on hold"


def test_a_passed_opening_check_of_the_next_day_closes_nothing(bench: Bench) -> None:
    lot = make_lot(bench, "SB-0916-01", "0.6315", "0.6331")
    make_check(bench.instrument, bench.method, bench.analyst, OPENED + timedelta(minutes=90), "opening", GOOD)
    assert frozen(judge(bench, lot).record).content["closing_check"] is None


def test_a_lot_without_a_run_is_refused(bench: Bench) -> None:
    with pytest.raises(Refused, match="no run yet"):
        judge(bench, make_lot(bench))


def test_two_instruments_or_two_checks_are_refused_and_named(bench: Bench) -> None:
    lot = make_lot(bench, "SB-0916-01", "0.6315", "0.6331")
    other = make.make_instrument(bench.site, "OW-2")
    check = make_check(other, bench.method, bench.analyst, OPENED)
    run = Run.objects.last()
    Run.objects.filter(pk=run.pk).update(instrument=other, opening_check=check)
    with pytest.raises(Refused) as refused:
        judge(bench, lot)
    said = " ".join(refused.value.reasons)
    assert f"2 instruments (OW-1: run {run.pk - 1}; OW-2: run {run.pk})" in said
    assert f"2 opening checks (check {bench.opening.pk} of" in said
    assert LotRecord.objects.count() == 0


def test_a_void_run_elsewhere_stays_in_the_record_and_hinders_nothing(bench: Bench) -> None:
    """An instrument failed, its runs were voided, and new portions were read on another one."""
    lot = make_lot(bench, "SB-0916-01", "0.6315")
    Run.objects.update(void_reason="its closing check failed")
    other = make.make_instrument(bench.site, "OW-2")
    check = make_check(other, bench.method, bench.analyst, OPENED + timedelta(hours=1))
    sample = lot.samples.get()
    for code in "XY":
        at = OPENED + timedelta(hours=1, minutes=20)
        make_run(bench, make_portion(bench, sample, code), "0.6320", at, instrument=other, opening_check=check)
    record = judge(bench, lot)
    content = frozen(record.record).content
    assert (content["instrument"]["id"], record.verdict) == ("OW-2", "pass")
    void = next(run for run in content["readings"] if run["use"] == "void")
    assert void["reasons"] == ["Void: its closing check failed.", "Read on OW-1."]


def test_a_released_lot_is_judged_again_only_after_a_hold(bench: Bench) -> None:
    lot = make_lot(bench, "SB-0916-01", "0.6315", "0.6331")
    judge(bench, lot)
    lot.state = "released"
    lot.save()
    with pytest.raises(Refused, match="Hold it first"):
        judge(bench, lot, "another look")


def test_who_may_judge(bench: Bench) -> None:
    lot = make_lot(bench, "SB-0916-01", "0.6315", "0.6331")
    with pytest.raises(Refused, match="this is for"):
        perform(JudgeLot(lot), By(bench.auditor, NOW))
    other = make_bench("other-plant")
    with pytest.raises(Refused, match="another plant"):
        perform(JudgeLot(lot), By(other.analyst, NOW))
    assert LotRecord.objects.count() == 0


def test_two_plants_with_one_lot_code_have_a_record_each(bench: Bench) -> None:
    other = make_bench("other-plant")
    first = judge(bench, make_lot(bench, "SB-0916-01", "0.6315", "0.6331"))
    second = judge(other, make_lot(other, "sb-0916-01", "0.6315", "0.6331"))
    assert [first.record, second.record] == ["R000001", "R000002"]
    assert frozen("R000002").content["earlier_records"] == []
    assert Portion.objects.count() == 4


@pytest.mark.parametrize("minutes", [2, 10, 18])
def test_a_check_that_failed_before_or_among_the_readings_gives_no_verdict(bench: Bench, minutes: int) -> None:
    """Opening check at 0 to 5 minutes, readings at 20 and 21; 2 overlaps the opening check, 18 the readings."""
    lot = make_lot(bench, "SB-1", "0.6315", "0.6331")
    at = OPENED + timedelta(minutes=minutes)
    make_check(bench.instrument, bench.method, bench.analyst, at, "closing", OFF)
    record = judge(bench, lot)
    assert (record.verdict, record.disposition, lot.state) == ("no verdict", "hold", "on hold")
    reasons = " ".join(frozen(record.record).content["decision"]["reasons"])
    assert "Closing check of" in reasons
    assert "failed." in reasons


def test_a_check_under_another_method_carries_no_verdict(bench: Bench) -> None:
    lot = make_lot(bench, "SB-1", "0.6315", "0.6331")
    Check.objects.update(method_version=make.make_method(bench.site, "Water activity at 40 degC, BM-40"))
    with pytest.raises(Refused, match="Check 1 of OW-1 was made under Water activity at 40 degC, BM-40"):
        judge(bench, lot)


def test_a_check_read_on_a_withdrawn_reference_carries_no_verdict(bench: Bench) -> None:
    lot = make_lot(bench, "SB-1", "0.6315", "0.6331")
    SolutionLot.objects.filter(solution="NaCl").update(withdrawn_reason="weighed wrongly.")
    with pytest.raises(Refused, match=r"read on a reference at fault.*Lot NaCl-26-04 is withdrawn: weighed wrongly"):
        judge(bench, lot)
