"""Corrections on the site: versions, caps, signature, standing both ways, lots judged by the version of their time."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import Any

import pytest
from tests.outlets.site import make
from tests.outlets.site.adjustments.bench import LOW, NOW, Morning
from tests.outlets.site.lots.bench_day import Bench, make_portion, make_run

from isohume.foundation.quantity.errors import InputError
from isohume.outlets.site.adjustments.actions.end_correction import EndCorrection
from isohume.outlets.site.adjustments.actions.set_correction_caps import SetCorrectionCaps
from isohume.outlets.site.adjustments.actions.start_correction import StartCorrection
from isohume.outlets.site.adjustments.models import Correction
from isohume.outlets.site.adjustments.queries import adjustment_events, caps_of, correction_in_force, line_of
from isohume.outlets.site.bench.models import Lot, Sample
from isohume.outlets.site.checks.models import Check
from isohume.outlets.site.checks.queries import gate
from isohume.outlets.site.ledger.actions import By, Refused, perform
from isohume.outlets.site.ledger.trail import trail_of
from isohume.outlets.site.lots.actions.judge_lot import JudgeLot
from isohume.outlets.site.lots.evidence_of_lot import runs_of
from isohume.outlets.site.lots.frozen import frozen, outdated, questions
from isohume.outlets.site.lots.models import LotRecord
from isohume.outlets.site.people.proof import prove_by_password

SEVEN = NOW - timedelta(hours=2)
MINUTE = timedelta(minutes=1)
BEGINS = SEVEN + 60 * MINUTE


def corrected(morning: Morning) -> Correction:
    """Failed carefully at seven, corrected at eight."""
    return morning.correct(morning.fail_carefully(SEVEN), BEGINS)


def read_lot(morning: Morning, opening: Check, at: datetime, code: str, *read: str) -> Lot:
    """A lot with one portion a number, read on OW-1 under a check."""
    product = morning.site.products.first() or make.make_product(morning.method)
    bench = Bench(
        morning.site, morning.method, morning.instrument, product, morning.analyst, morning.manager, morning.officer,
        morning.officer, morning.auditor, opening,
    )  # fmt: skip
    lot = Lot.objects.create(
        site=morning.site, code=code, key=code.casefold(), product=product, specification=product.specification,
        received_at=at - timedelta(hours=1), entered_at=at - timedelta(hours=1), by=morning.analyst,
    )  # fmt: skip
    given: dict[str, Any] = {"sealed": True, "received_at": lot.received_at, "by": morning.analyst}
    sample = Sample.objects.create(lot=lot, code="1", position="line 1", component="whole bar", **given)
    for n, a_w in enumerate(read):
        make_run(bench, make_portion(bench, sample, "AB"[n]), a_w, at + n * MINUTE)
    return lot


def judge(morning: Morning, lot: Lot, at: datetime, reason: str = "") -> LotRecord:
    """The analyst judges a lot."""
    return perform(JudgeLot(lot, reason), By(morning.analyst, at))


def test_a_version_holds_from_the_next_full_minute_with_coefficients_of_its_check(morning: Morning) -> None:
    """Two references: b1 = (0.7530 - 0.5290)/(0.7410 - 0.5200) by the printed values, b0 from there (job, 4.2)."""
    last = morning.fail_carefully(SEVEN)
    made = morning.correct(last, BEGINS + timedelta(seconds=12))
    assert (made.version, made.of_check, made.since) == (1, last, BEGINS + MINUTE)
    line = line_of(made)
    assert float(line.slope) == pytest.approx(0.2240 / 0.2210, abs=0.0005)
    assert line.on_line(0.5200) == pytest.approx(0.5290, abs=0.0001)
    assert line.on_line(0.7410) == pytest.approx(0.7530, abs=0.0001)
    assert (made.lowest_read, made.highest_read) == ("0.52", "0.741")
    assert made.caps == {"offset": 0.02, "slope": 0.05, "walk": 0.02}


def test_it_has_no_standing_until_a_check_passes_with_it_and_both_judgements_are_kept(morning: Morning) -> None:
    made = corrected(morning)
    during = gate(morning.instrument, BEGINS + 5 * MINUTE)
    assert not during.allowed
    assert any("Correction 1 of OW-1 began at 2026-09-16 09:00" in why for why in during.reasons)
    left = morning.check(BEGINS + 10 * MINUTE, LOW)
    assert (left.passed, left.may_measure) == (True, True)
    assert left.result["as_read"]["verdict"] == "fail"
    assert left.result["correction"] == made.ref
    assert left.readings.get(bottle=morning.salt).a_w == "0.7410"  # what was typed stays
    assert "as read, without it, the check failed" in " ".join(left.result["reasons"])
    assert gate(morning.instrument, BEGINS + 20 * MINUTE).allowed


def test_a_check_that_passes_as_read_and_not_corrected_gives_nothing(morning: Morning) -> None:
    """The instrument came back by itself: the standing follows the correction that is in force."""
    corrected(morning)
    left = morning.check(BEGINS + 10 * MINUTE)
    assert not left.passed
    assert left.result["as_read"]["verdict"] == "pass"
    assert not gate(morning.instrument, BEGINS + 20 * MINUTE).allowed


def test_a_lot_is_judged_with_the_correction_of_its_reading_time(morning: Morning) -> None:
    """Read 0.6320 and 0.6336 where 0.0105 is missing: the lot stands at about 0.643, and the record keeps both."""
    made = corrected(morning)
    left = morning.check(BEGINS + 10 * MINUTE, LOW)
    lot = read_lot(morning, left, BEGINS + 20 * MINUTE, "SB-1", "0.6320", "0.6336")
    record = judge(morning, lot, NOW)
    content = frozen(record.record).content
    assert content["correction"]["version"] == "1"
    assert [r["a_w"] for r in content["readings"]] == ["0.6320", "0.6336"]
    line = line_of(made)
    assert record.value == pytest.approx(line.on_line(0.6328), abs=1e-9)
    assert record.value == pytest.approx(0.6328 + 0.0105, abs=0.0003)
    names = [c["name"] for c in content["budget"]["components"]]
    assert "correction 1 of OW-1" in names
    lot_file = questions().file(content["inputs"][0]["sha256"])
    assert b"[correction]" in lot_file


def test_old_results_keep_the_old_version(morning: Morning) -> None:
    """Row 23 of the job: judged again after a new correction, an old lot keeps the one of its reading time."""
    corrected(morning)
    left = morning.check(BEGINS + 10 * MINUTE, LOW)
    old = read_lot(morning, left, BEGINS + 20 * MINUTE, "SB-1", "0.6320", "0.6336")
    first = judge(morning, old, BEGINS + 30 * MINUTE)
    lower = {name: 1.3 * off for name, off in LOW.items()}
    second = morning.correct(morning.fail_carefully(NOW, lower), NOW + 60 * MINUTE)
    assert second.version == 2
    again = morning.check(NOW + 70 * MINUTE, lower)
    new = read_lot(morning, again, NOW + 80 * MINUTE, "SB-2", "0.6320", "0.6336")
    assert frozen(judge(morning, new, NOW + 90 * MINUTE).record).content["correction"]["version"] == "2"
    content = frozen(first.record).content
    stale = outdated(first, content, runs_of(old))
    assert not any("correction" in reason for reason in stale)
    # the failed check of nine condemns the old lot: it is judged again, and still by version 1
    rejudged = frozen(judge(morning, old, NOW + 95 * MINUTE, "a check failed after it").record).content
    assert rejudged["correction"] == content["correction"]
    assert [r.get("corrected_a_w") for r in rejudged["readings"]] == [
        r.get("corrected_a_w") for r in content["readings"]
    ]


def test_a_lot_read_without_a_correction_has_none(morning: Morning) -> None:
    good = morning.check(SEVEN - 40 * MINUTE)
    lot = read_lot(morning, good, SEVEN - 20 * MINUTE, "SB-0", "0.6320", "0.6336")
    before = judge(morning, lot, SEVEN - 10 * MINUTE)
    corrected(morning)
    content = frozen(before.record).content
    assert "correction" not in content
    rejudged = frozen(judge(morning, lot, NOW, "a check failed after it").record).content
    assert "correction" not in rejudged
    assert rejudged["decision"]["value"] == content["decision"]["value"]


def test_a_reading_beyond_the_references_of_the_correction_is_refused(morning: Morning) -> None:
    corrected(morning)
    left = morning.check(BEGINS + 10 * MINUTE, LOW)
    lot = read_lot(morning, left, BEGINS + 20 * MINUTE, "SB-1", "0.5100", "0.5110")
    record = judge(morning, lot, NOW)
    assert (record.verdict, record.disposition) == ("no verdict", "hold")
    assert "not extrapolated" in " ".join(frozen(record.record).content["decision"]["reasons"])


def test_readings_on_both_sides_of_a_change_stand_on_no_check(morning: Morning) -> None:
    """A run under the check of before, read after the correction began."""
    good = morning.check(SEVEN - 40 * MINUTE)
    corrected(morning)
    lot = read_lot(morning, good, BEGINS + 5 * MINUTE, "SB-1", "0.6320")
    with pytest.raises(Refused, match="no standing until the as-left check passes"):
        judge(morning, lot, NOW)


def test_an_adjustment_recorded_late_makes_a_record_out_of_date(morning: Morning) -> None:
    """Adjusted before the readings, written down after them: they stand on a check of another scale."""
    good = morning.check(SEVEN, {"NaCl": -0.003})
    lot = read_lot(morning, good, SEVEN + 30 * MINUTE, "SB-1", "0.6320", "0.6336")
    record = judge(morning, lot, SEVEN + 40 * MINUTE)
    content = frozen(record.record).content
    assert outdated(record, content, runs_of(lot)) == []
    morning.adjust(good, SEVEN + 20 * MINUTE, kind="service")
    assert any("OW-1 was serviced" in why for why in outdated(record, content, runs_of(lot)))


def test_changes_of_scale_are_recorded_in_their_order(morning: Morning) -> None:
    last = morning.fail_carefully(SEVEN)
    morning.correct(last, BEGINS)
    with pytest.raises(Refused, match="changes of scale are recorded in their order"):
        morning.adjust(last, BEGINS - MINUTE)


def test_a_check_on_another_scale_closes_nothing(morning: Morning) -> None:
    corrected(morning)
    left = morning.check(BEGINS + 10 * MINUTE, LOW)
    lot = read_lot(morning, left, BEGINS + 20 * MINUTE, "SB-1", "0.6320", "0.6336")
    ended = morning.end(Correction.objects.get(), BEGINS + 30 * MINUTE)
    morning.check(BEGINS + 40 * MINUTE, kind="closing")
    content = frozen(judge(morning, lot, NOW + timedelta(hours=1)).record).content
    assert content["closing_check"] is None
    assert ended.ended_at == BEGINS + 30 * MINUTE


@pytest.mark.parametrize(
    ("off", "says"),
    [
        ({"Mg(NO3)2": -0.0090, "NaCl": -0.0250}, "slope"),
        ({"Mg(NO3)2": -0.0300, "NaCl": -0.0300}, "offset"),
        ({"Mg(NO3)2": -0.0210, "NaCl": -0.0210}, "walk"),
    ],
)
def test_caps_refuse(morning: Morning, off: dict[str, float], says: str) -> None:
    last = morning.fail_carefully(SEVEN, off)
    with pytest.raises(Refused) as refused:
        morning.correct(last, BEGINS)
    assert any(says in reason.lower() and "cap" in reason for reason in refused.value.reasons)
    assert not Correction.objects.exists()


def test_corrections_that_walk_one_way_meet_the_cap(morning: Morning) -> None:
    """-0.012 is corrected; then -0.024: each step is within, together they are beyond 0.02 (F20 of the job)."""
    corrected(morning)
    morning.check(BEGINS + 5 * MINUTE, LOW)
    twice = {name: 2 * off for name, off in LOW.items()}
    last = morning.fail_carefully(BEGINS + 20 * MINUTE, twice)
    with pytest.raises(Refused, match="corrections that walk one way hide something"):
        morning.correct(last, BEGINS + 80 * MINUTE)


def test_a_method_sets_its_caps_and_old_corrections_keep_theirs(morning: Morning) -> None:
    made = corrected(morning)
    method = morning.method.method
    caps = SetCorrectionCaps(method, "0.005", "0.02", "0.008", "service is two hours away")
    perform(caps, morning.by(NOW))
    assert (caps_of(method).offset, caps_of(method).slope, caps_of(method).walk) == (0.005, 0.02, 0.008)
    assert Correction.objects.get(pk=made.pk).caps["walk"] == 0.02
    for field, text in (("offset", "0.06"), ("slope", "1"), ("walk", "0"), ("reason", "")):
        given = {"offset": "0.01", "slope": "0.02", "walk": "0.01", "reason": "own", field: text}
        with pytest.raises(InputError) as error:
            perform(SetCorrectionCaps(method, **given), morning.by(NOW))
        assert error.value.field == field


def test_without_the_password_nothing_is_signed(morning: Morning) -> None:
    last = morning.fail_carefully(SEVEN)
    wrong = prove_by_password(morning.manager, "wrong", BEGINS)
    for proof in (None, wrong, prove_by_password(morning.analyst, make.PASSWORD, BEGINS)):
        with pytest.raises(Refused, match="nothing was signed"):
            perform(StartCorrection(last, "low", proof), morning.by(BEGINS))
    made = morning.correct(last, BEGINS)
    with pytest.raises(Refused, match="nothing was signed"):
        perform(EndCorrection(made, "back", None), morning.by(BEGINS))


def test_the_careful_steps_come_before_a_correction_too(morning: Morning) -> None:
    morning.check(SEVEN, LOW)
    failed = morning.check(SEVEN + 10 * MINUTE, LOW)
    with pytest.raises(Refused, match="clean first, or the dirt is adjusted away"):
        morning.correct(failed, SEVEN + 20 * MINUTE)


def test_a_correction_rests_on_the_last_check(morning: Morning) -> None:
    morning.fail_carefully(SEVEN)
    with pytest.raises(Refused, match="is not the last of OW-1"):
        morning.correct(Check.objects.earliest("pk"), BEGINS)


def test_one_correction_at_a_time_and_none_before_the_as_left_check(morning: Morning) -> None:
    last = morning.fail_carefully(SEVEN)
    morning.correct(last, BEGINS)
    with pytest.raises(Refused, match="read the as-left check first"):
        morning.correct(last, BEGINS + MINUTE)


def test_adjusting_the_instrument_ends_its_correction(morning: Morning) -> None:
    made = corrected(morning)
    morning.check(BEGINS + 5 * MINUTE, LOW)
    last = morning.fail_carefully(BEGINS + 20 * MINUTE, {name: 1.6 * off for name, off in LOW.items()})
    morning.adjust(last, BEGINS + 80 * MINUTE)
    made.refresh_from_db()
    assert (made.ended_at, made.ended_reason) == (BEGINS + 80 * MINUTE, "the instrument itself was adjusted")
    assert correction_in_force(morning.instrument, BEGINS + 79 * MINUTE) == made
    assert correction_in_force(morning.instrument, BEGINS + 80 * MINUTE) is None
    left = morning.check(BEGINS + 90 * MINUTE)
    assert "as_read" not in left.result
    kinds = [event.kind for event in adjustment_events(morning.instrument)]
    assert sorted(kinds) == ["adjusted", "correction began", "correction ended"]


def test_ending_needs_a_check_as_it_is(morning: Morning) -> None:
    made = corrected(morning)
    morning.check(BEGINS + 10 * MINUTE, LOW)
    morning.end(made, BEGINS + 30 * MINUTE)
    assert not gate(morning.instrument, BEGINS + 31 * MINUTE).allowed
    assert morning.check(BEGINS + 40 * MINUTE).may_measure
    with pytest.raises(Refused, match="has ended"):
        morning.end(made, BEGINS + 50 * MINUTE)


def test_the_trail_holds_coefficients_caps_and_the_signed_statement(morning: Morning) -> None:
    made = corrected(morning)
    morning.check(BEGINS + 10 * MINUTE, LOW)
    line, check = trail_of(made.ref)
    assert (check.kind, check.details["correction"]) == ("check_recorded", "correction 1 of OW-1")
    assert line.reason == "No service before Monday"
    assert (line.details["b0"], line.details["b1"]) == (made.offset, made.slope)
    assert line.details["meaning"] == "corrected"
    assert line.details["printed_name"] == "Mira"
    assert line.details["caps"] == {"offset": "0.02", "slope": "0.05", "walk": "0.02"}


@pytest.mark.parametrize("who", ["analyst", "officer", "auditor"])
def test_only_a_manager_corrects(morning: Morning, who: str) -> None:
    last = morning.fail_carefully(SEVEN)
    person = getattr(morning, who)
    proof = prove_by_password(person, make.PASSWORD, BEGINS)
    with pytest.raises(Refused, match="this is for manager"):
        perform(StartCorrection(last, "low", proof), By(person, BEGINS))
