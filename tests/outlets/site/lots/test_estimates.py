"""A lot of the site with a value that was taken too early: labelled on every page, held, and never by another door."""

from __future__ import annotations

import re
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse
from tests.outlets.site.lots.bench_day import (
    NOW,
    OPENED,
    Bench,
    judge,
    key_again,
    make_bench,
    make_lot,
    make_portion,
    make_run,
    proof_of,
)

from isohume.bench.record.certification import certify
from isohume.outlets.paper.from_record import certificate_content
from isohume.outlets.site.bench.models import Lot, Run
from isohume.outlets.site.budgets.gathering import gather
from isohume.outlets.site.ledger.actions import By, Refused, perform
from isohume.outlets.site.lots.actions.sign_records import SignRecords
from isohume.outlets.site.lots.changes import changes_of
from isohume.outlets.site.lots.evidence_of_lot import evidence_of, runs_of
from isohume.outlets.site.lots.frozen import frozen, outdated
from isohume.outlets.site.lots.lot_inputs import write_inputs
from isohume.outlets.site.lots.lot_page import lot_page
from isohume.outlets.site.lots.models import LotRecord
from isohume.outlets.site.people.models import Person
from isohume.outlets.site.register.models import MethodVersion

EARLY = "non-equilibrium estimate"
REPORT = "Validation report BM-12-V2"
LABEL = "non-equilibrium estimate in 1 of 2 portions"


@pytest.fixture
def bench(site_db: Path) -> Bench:
    """A bench whose people accepted the policy of signatures."""
    made = make_bench()
    Person.objects.update(policy_accepted_at=NOW)
    return made


def early_lot(bench: Bench, code: str = "SB-0916-01", u: str = "0.0031") -> Lot:
    """Two captured portions, the second one stopped too early."""
    lot = make_lot(bench, code, "0.6315", "0.6331")
    first, second = runs_of(lot)
    Run.objects.filter(pk=first.pk).update(stopped="settled", trace_sha256="a" * 64)
    Run.objects.filter(pk=second.pk).update(stopped=EARLY, u_estimate=u, trace_sha256="b" * 64)
    return lot


def page_of(client: Client, person: Person, name: str, *args: Any, **asked: str) -> str:
    """A page's text as one line."""
    client.force_login(person, "django.contrib.auth.backends.ModelBackend")
    response = client.get(reverse(name, args=args), asked)
    assert response.status_code == 200
    return re.sub(r"\s+", " ", response.content.decode())


def sign(person: Person, meaning: str, record: LotRecord) -> None:
    """A signature with the password given again."""
    perform(SignRecords(person.site, [record], meaning, proof_of(person), True), By(person, NOW))


def test_it_is_judged_and_held(bench: Bench) -> None:
    lot = early_lot(bench)
    record = judge(bench, lot)
    assert (record.verdict, record.disposition, record.estimate) == ("pass", "hold", LABEL)
    assert record.probability is not None
    assert lot.state == "on hold"
    assert record.u == pytest.approx((0.0032**2 + 0.002**2 / 2 + 0.0031**2) ** 0.5, rel=1e-9)
    act = lot_page(lot).next
    assert act.act == "read"
    assert "not validated for it" in act.why


def test_a_version_with_its_document_lets_it_go(bench: Bench) -> None:
    MethodVersion.objects.update(estimates_validated=REPORT)
    record = judge(bench, early_lot(bench))
    assert (record.verdict, record.disposition) == ("pass", "release")
    content = frozen(record.record).content
    assert content["method"]["estimates_validated"] == REPORT
    assert REPORT in content["decision"]["reasons"][0]


def test_nobody_signs_it_out(bench: Bench) -> None:
    lot = early_lot(bench)
    record = judge(bench, lot)
    sign(bench.manager, "reviewed", record)
    with pytest.raises(Refused) as refused:
        sign(bench.officer, "released", record)
    assert any("not release" in reason for reason in refused.value.reasons)


def test_pages_and_paper_name_it_at_the_value(bench: Bench, client: Client) -> None:
    lot = early_lot(bench)
    record = judge(bench, lot)
    shown = page_of(client, bench.auditor, "lot", lot.pk)
    assert re.search(rf"0\.6323[^<]*, {LABEL}", shown)
    assert "<br>non-equilibrium estimate, u 0.0031</td>" in shown
    assert f", {LABEL}" in page_of(client, bench.auditor, "record", record.record)
    assert LABEL in page_of(client, bench.auditor, "product", bench.product.pk)
    waits = page_of(client, bench.manager, "sign", meaning="reviewed")
    assert f", {LABEL}" in waits
    assert "was stopped before the method" in waits
    content = certificate_content(frozen(record.record).content, record.digest)
    said = str(content)
    assert f"({LABEL})" in content["headline"]["disposition"]
    assert f"Water activity 0.6323, {LABEL}" in said
    assert EARLY in str(next(part for part in content["sections"] if part["title"] == "Readings"))


def test_before_it_is_judged_the_page_says_it_too(bench: Bench, client: Client) -> None:
    shown = page_of(client, bench.auditor, "lot", early_lot(bench).pk)
    assert "<br>non-equilibrium estimate, u 0.0031</td>" in shown
    assert "non-equilibrium estimate: 0.6331" in shown  # on the line


def test_the_reviewer_has_seen_it(bench: Bench) -> None:
    lot = early_lot(bench)
    said = changes_of(lot, runs_of(lot))
    assert said == [
        f"Run {runs_of(lot)[1].pk} (0.6331) was stopped before the method's criterion was met: "
        "non-equilibrium estimate, u 0.0031."
    ]


def test_a_correction_of_a_slip_does_not_settle_it(bench: Bench) -> None:
    """A later row that corrects the run and says nothing of how it ended is of the same attempt."""
    lot = early_lot(bench)
    early = runs_of(lot)[1]
    make_run(bench, early.portion, "0.6332", early.read_at, corrects=early, correction_reason="block misread")
    record = judge(bench, lot)
    assert (record.disposition, record.estimate) == ("hold", LABEL)
    last = frozen(record.record).content["readings"][-1]
    assert (last["a_w"], last["stopped"], last["u_estimate"]) == ("0.6332", EARLY, "0.0031")


@pytest.mark.parametrize(
    "change", [{"stopped": "settled", "u_estimate": ""}, {"u_estimate": "0.0001"}, {"stopped": ""}]
)
def test_a_label_changed_in_the_register_makes_the_record_outdated(bench: Bench, change: dict[str, str]) -> None:
    lot = early_lot(bench)
    MethodVersion.objects.update(estimates_validated=REPORT)
    record = judge(bench, lot)
    sign(bench.manager, "reviewed", record)
    Run.objects.filter(stopped=EARLY).update(**{"u_estimate": "", **change})
    reasons = outdated(record, frozen(record.record).content, runs_of(lot))
    assert any("readings file" in reason or "cannot be judged" in reason for reason in reasons)
    with pytest.raises(Refused):
        sign(bench.officer, "released", record)


def test_a_document_taken_away_makes_the_record_outdated(bench: Bench) -> None:
    lot = early_lot(bench)
    MethodVersion.objects.update(estimates_validated=REPORT)
    record = judge(bench, lot)
    MethodVersion.objects.update(estimates_validated="")
    reasons = outdated(record, frozen(record.record).content, runs_of(lot))
    assert any("method" in reason for reason in reasons)


def test_read_again_until_it_settled_it_may_go(bench: Bench) -> None:
    lot = early_lot(bench)
    judge(bench, lot)
    early = runs_of(lot)[1]
    make_run(bench, early.portion, "0.6340", OPENED + timedelta(minutes=50), stopped="settled", trace_sha256="c" * 64)
    record = judge(bench, lot, "read again until it settled")
    assert (record.verdict, record.disposition, record.estimate) == ("pass", "release", "")
    uses = [reading["use"] for reading in frozen(record.record).content["readings"]]
    assert uses == ["replicate", "re-read", "replicate"]


def test_lots_that_say_nothing_of_it_write_the_files_they_always_did(bench: Bench, tmp_path: Path) -> None:
    lot = make_lot(bench, "SB-0916-01", "0.6315", "0.6331")
    write_inputs(evidence_of(lot), tmp_path)
    head = (tmp_path / "readings.csv").read_text(encoding="utf-8").splitlines()[0]
    assert head == (
        "run,portion,position,component,a_w,read_at,sample_temperature_c,block_temperature_c,void_reason,"
        "override_reason,instrument"
    )
    assert "estimates_validated" not in (tmp_path / "lot.toml").read_text(encoding="utf-8")


def test_the_command_line_judges_the_site_s_files_alike(bench: Bench, tmp_path: Path) -> None:
    lot = early_lot(bench)
    record = judge(bench, lot)
    ours = frozen(record.record).content
    theirs = certify(write_inputs(evidence_of(lot), tmp_path), tmp_path / "cli", NOW).record
    for part in ("decision", "budget", "readings", "estimates", "cautions", "inputs", "method"):
        assert theirs[part] == ours[part], part


def test_an_estimate_without_its_uncertainty_is_judged_without_a_verdict(bench: Bench) -> None:
    lot = early_lot(bench, u="")
    record = judge(bench, lot)
    assert (record.verdict, record.disposition, record.u) == ("no verdict", "hold", None)


def test_a_signed_lot_without_estimates_stays_what_it_was(bench: Bench) -> None:
    lot = make_lot(bench, "SB-0916-02", "0.6315", "0.6331")
    key_again(bench, lot)
    record = judge(bench, lot)
    assert record.estimate == ""
    sign(bench.manager, "reviewed", record)
    sign(bench.officer, "released", record)
    lot.refresh_from_db()
    assert lot.state == "released"


def test_a_third_portion_has_its_own_label(bench: Bench) -> None:
    lot = early_lot(bench)
    portion = make_portion(bench, lot.samples.get(), "C")
    make_run(bench, portion, "0.6320", OPENED + timedelta(minutes=55), stopped=EARLY, u_estimate="0.0050")
    record = judge(bench, lot)
    assert record.estimate == "non-equilibrium estimate in 2 of 3 portions"


@pytest.mark.parametrize(("stopped", "counted"), [("", 1), ("settled", 2)])
def test_a_cup_with_an_estimate_gives_the_budget_no_number_of_unknown_end(
    bench: Bench, stopped: str, counted: int
) -> None:
    """The estimate's own number, typed, would say how well portions repeat."""
    lot = early_lot(bench)
    _, second = runs_of(lot)
    again = make_run(bench, second.portion, "0.6335", second.read_at + timedelta(minutes=30))
    Run.objects.filter(pk=again.pk).update(stopped=stopped)
    found = gather(bench.method, NOW + timedelta(days=1), timedelta(days=30))
    assert len(found.runs) == counted
