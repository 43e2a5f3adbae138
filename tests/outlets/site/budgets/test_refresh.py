"""A budget from the plant's own data: proposed, shown with its effect, adopted; old decisions keep the old one."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path

import pytest
from django.test import Client
from django.urls import reverse
from tests.outlets.site import make
from tests.outlets.site.lots import bench_day as b
from tests.outlets.site.lots.bench_day import Bench

from isohume.foundation.quantity.errors import InputError
from isohume.outlets.site.adjustments.models import ScaleChange
from isohume.outlets.site.bench.models import Run
from isohume.outlets.site.budgets.actions.adopt_budget import AdoptBudget
from isohume.outlets.site.budgets.actions.keep_budget import KeepBudget
from isohume.outlets.site.budgets.effects import effects_of
from isohume.outlets.site.budgets.gathering import QUARTER, gather, own_data, resolution_of
from isohume.outlets.site.budgets.models import BudgetRefresh
from isohume.outlets.site.budgets.proposal import propose
from isohume.outlets.site.checks.models import Check
from isohume.outlets.site.checks.standing_of import guard_band
from isohume.outlets.site.ledger.actions import By, Refused, perform
from isohume.outlets.site.ledger.trail import trail_of
from isohume.outlets.site.lots.frozen import frozen
from isohume.outlets.site.lots.models import LotRecord
from isohume.outlets.site.people.roles import AUDITOR
from isohume.outlets.site.register.models import Budget, MethodVersion, SpecificationVersion

DAYS = 12
# NaCl should read 0.75297 and MgCl2 0.32787 at 25 degC
OFF = ((0.0006, -0.0004), (-0.0002, 0.0008), (0.0011, 0.0003), (0.0002, -0.0007), (-0.0006, 0.0005), (0.0009, 0.0001))


@pytest.fixture
def bench(site_db: Path) -> Bench:
    """Twelve days of opening checks, each day a lot with two portions 0.0010 apart."""
    found = b.make_bench()
    for day in range(1, DAYS + 1):
        at = b.OPENED - timedelta(days=day)
        dry, wet = OFF[day % len(OFF)]
        b.make_check(
            found.instrument,
            found.method,
            found.analyst,
            at,
            read=(("MgCl2", f"{0.3279 + dry:.4f}"), ("NaCl", f"{0.7530 + wet:.4f}")),
        )
        lot = b.make_lot(found, f"SB-{day:02}")
        sample = lot.samples.get()
        for letter, a_w in (("A", "0.6400"), ("B", "0.6410")):
            b.make_run(found, b.make_portion(found, sample, letter), a_w, at + timedelta(minutes=30))
    return found


def _adopt(bench: Bench, reason: str = "third quarter") -> BudgetRefresh:
    proposal = propose(bench.method, b.NOW)
    return perform(AdoptBudget(bench.method, proposal.digest, reason), By(bench.manager, b.NOW))


def test_what_is_proposed_comes_of_the_plants_own_checks_and_portions(bench: Bench) -> None:
    proposal = propose(bench.method, b.NOW)
    assert proposal.missing == ()
    assert proposal.deciding is not None
    found = proposal.deciding.budget
    assert found.references == ("MgCl2 saturated", "NaCl saturated")
    assert found.checks == DAYS + 1
    # twelve pairs 0.0010 apart: s_r^2 = 12 x 0.001^2/(2 x 12)
    assert found.s_r == pytest.approx(0.001 / 2**0.5)
    assert f"{proposal.s_r:f}" == "0.0008"
    assert proposal.u_other >= found.u_other
    assert float(proposal.u_other) - found.u_other < 0.0001
    assert proposal.source.startswith("Own data 2026-06-17 to 2026-09-16: 13 opening checks of OW-1 on MgCl2")


def test_change_of_s_r_changes_the_guard_and_old_decisions_keep_the_old_one(bench: Bench) -> None:
    """job.md, row 27: change s_r -> guard changes, old decisions do not."""
    old = b.judge(bench, b.make_lot(bench, "SB-0916-01", "0.6431", "0.6441"))
    assert old.verdict == "pass"
    before = frozen(old.record)
    spec = bench.product.specification
    guard = guard_band(spec, bench.method)
    refresh = _adopt(bench)
    version = MethodVersion.objects.get(pk=bench.method.pk)
    assert refresh.budget == version.budget
    assert version.budget.basis == "own data"
    assert guard_band(spec, version) < guard
    after = frozen(LotRecord.objects.get(pk=old.pk).record)
    assert (after.body, after.digest) == (before.body, before.digest)
    assert [part["u"] for part in after.content["budget"]["components"]] == [0.0032, pytest.approx(0.0020 / 2**0.5)]
    new = b.judge(bench, b.make_lot(bench, "SB-0916-02", "0.6431", "0.6441"))
    content = frozen(new.record).content
    assert content["budget"]["source"] == version.budget.source
    assert content["decision"]["u"] < before.content["decision"]["u"]


def test_the_effect_is_told_before_it_is_adopted(bench: Bench) -> None:
    b.judge(bench, b.make_lot(bench, "SB-0916-01", "0.6443", "0.6449"))  # above 0.6446 less: a conditional pass now
    b.judge(bench, b.make_lot(bench, "SB-0916-02", "0.6300", "0.6306"))
    (effect,) = effects_of(propose(bench.method, b.NOW))
    assert effect.product == bench.product
    assert effect.lots == 2
    assert [(one.record.lot.code, one.was, one.would_be) for one in effect.otherwise] == [
        ("SB-0916-01", "conditional pass", "pass")
    ]
    assert effect.effect.guard_after < effect.effect.guard_before
    assert effect.accepted[0].startswith("to 0.64")


def test_it_is_in_the_ledger_with_reason_and_components(bench: Bench) -> None:
    refresh = _adopt(bench)
    kinds = [line.kind for line in trail_of(bench.method.ref)]
    assert kinds[-2:] == ["budget_set", "budget_adopted"]
    (line,) = trail_of(refresh.ref)
    assert (line.by, line.reason) == ("Manager", "third quarter")
    assert line.details["sha256"] == refresh.digest
    assert {part["name"] for part in refresh.content["deciding"]["components"]} >= {"day to day", "resolution"}


def test_another_proposal_than_the_one_looked_at_is_refused(bench: Bench) -> None:
    seen = propose(bench.method, b.NOW).digest
    assert propose(bench.method, b.NOW + timedelta(hours=2)).digest == seen  # it holds still for the day
    b.make_check(bench.instrument, bench.method, bench.analyst, b.NOW - timedelta(minutes=30))
    with pytest.raises(Refused, match="look at the new one first"):
        perform(AdoptBudget(bench.method, seen, "third quarter"), By(bench.manager, b.NOW))
    assert Budget.objects.count() == 1


def test_too_few_checks_leave_the_present_budget(bench: Bench) -> None:
    Check.objects.filter(last_read_at__lt=b.NOW - timedelta(days=7)).update(voided_at=b.NOW)
    proposal = propose(bench.method, b.NOW)
    assert proposal.deciding is None
    (why,) = proposal.missing
    assert "Soft oat bar on OW-1: 7 opening checks, 9 needed" in why
    with pytest.raises(Refused, match="not enough for a budget yet"):
        perform(AdoptBudget(bench.method, proposal.digest, "third quarter"), By(bench.manager, b.NOW))


def test_failed_and_void_checks_void_runs_and_re_reads_are_left_out(bench: Bench) -> None:
    before = propose(bench.method, b.NOW)
    at = b.NOW - timedelta(days=3)
    b.make_check(bench.instrument, bench.method, bench.analyst, at, read=b.OFF)  # fails: nothing was released on it
    run = Run.objects.earliest("pk")
    again = run.read_at + timedelta(minutes=20)
    b.make_run(bench, run.portion, "0.6600", again)  # a second read of the cup
    b.make_run(bench, b.make_portion(bench, run.portion.sample, "C"), "0.7000", again, void_reason="spilled")
    after = propose(bench.method, b.NOW)
    assert (after.u_other, after.s_r) == (before.u_other, before.s_r)
    assert after.deciding is not None
    assert after.deciding.budget.checks == DAYS + 1


def test_checks_from_before_an_adjustment_say_nothing_of_the_bias_now(bench: Bench) -> None:
    ScaleChange.objects.create(
        instrument=bench.instrument, at=b.NOW - timedelta(days=4), kind="adjusted", about="x:1", words="adjusted"
    )
    assert "opening checks, 9 needed" in propose(bench.method, b.NOW).missing[0]


def test_a_product_beyond_the_references_stops_a_budget_of_ones_own(bench: Bench) -> None:
    wet = make.make_product(bench.method, "Fruit paste", upper="0.850", expected_a_w="0.830")
    assert propose(bench.method, b.NOW).missing == ()  # nobody read it yet
    lot = b.make_lot(bench, "FP-1")
    lot.product = wet
    lot.save()
    b.make_run(bench, b.make_portion(bench, lot.samples.get(), "A"), "0.8300", b.NOW - timedelta(hours=2))
    assert any("No reference solution above" in why for why in propose(bench.method, b.NOW).missing)


def test_keeping_the_present_budget_is_a_look_too(bench: Bench) -> None:
    kept = perform(KeepBudget(bench.method, "a new bottle of NaCl came in"), By(bench.manager, b.NOW))
    assert kept.budget is None
    assert Budget.objects.count() == 1
    assert kept.content["deciding"]["instrument"] == "OW-1"
    assert [line.kind for line in trail_of(kept.ref)] == ["budget_kept"]


def test_a_reason_is_needed_and_a_manager(bench: Bench) -> None:
    digest = propose(bench.method, b.NOW).digest
    with pytest.raises(InputError, match="reason"):
        perform(AdoptBudget(bench.method, digest, " "), By(bench.manager, b.NOW))
    with pytest.raises(InputError, match="reason"):
        perform(KeepBudget(bench.method, ""), By(bench.manager, b.NOW))
    for person in (bench.analyst, bench.officer, bench.auditor):
        with pytest.raises(Refused, match="manager"):
            perform(AdoptBudget(bench.method, digest, "third quarter"), By(person, b.NOW))
    assert Budget.objects.count() == 1


def test_a_replaced_version_is_not_refreshed(bench: Bench) -> None:
    MethodVersion.objects.create(method=bench.method.method, version="4", since=b.NOW)
    for action in (KeepBudget(bench.method, "r"), AdoptBudget(bench.method, propose(bench.method, b.NOW).digest, "r")):
        with pytest.raises(Refused, match="is replaced"):
            perform(action, By(bench.manager, b.NOW))


def test_the_position_component_stays(bench: Bench) -> None:
    Budget.objects.update(s_position="0.0015")
    assert _adopt(bench).budget.s_position == "0.0015"


def test_the_pages(bench: Bench, client: Client, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("django.utils.timezone.now", lambda: b.NOW)
    b.judge(bench, b.make_lot(bench, "SB-0916-01", "0.6443", "0.6449"))
    client.force_login(bench.manager)
    assert "1 refresh due" in client.get(reverse("budgets")).content.decode()  # set 100 days ago
    page = reverse("budget_refresh", args=[bench.method.pk])
    shown = client.get(page).content.decode()
    assert shown.index("What it would change") < shown.index("Component by component")
    assert "SB-0916-01" in shown
    proposal = propose(bench.method, b.NOW)
    bad = client.post(page, {"act": "adopt", "proposal": proposal.digest, "reason": ""})
    assert bad.status_code == 422
    done = client.post(page, {"act": "adopt", "proposal": proposal.digest, "reason": "third quarter"})
    refresh = BudgetRefresh.objects.get()
    assert done.url == refresh.get_absolute_url()
    assert f"Adopted: u_other {proposal.u_other}" in client.get(done.url).content.decode()
    assert "as now" in client.get(page).content.decode()
    assert client.get(reverse("trail", args=["budgetrefresh", refresh.pk])).status_code == 200
    client.post(page, {"act": "keep", "reason": "nothing new"})
    assert BudgetRefresh.objects.filter(budget=None).count() == 1
    assert "None is due." in client.get(reverse("budgets")).content.decode()


def test_the_pages_of_a_plant_without_data(site_db: Path, client: Client) -> None:
    site = make.make_site()
    person = make.make_person(site, AUDITOR)
    client.force_login(person)
    assert "No method yet." in client.get(reverse("budgets")).content.decode()
    version = make.make_method(site)
    shown = client.get(reverse("budget_refresh", args=[version.pk])).content.decode()
    assert "No passed check under this method yet." in shown
    other = make.make_method(make.make_site("other"))
    assert client.get(reverse("budget_refresh", args=[other.pk])).status_code == 404


def test_one_value_typed_short_is_not_the_resolution(bench: Bench) -> None:
    """Among readings to 0.0001 one "0.6" made a step of 0.1, whose u of 0.029 ruled the budget."""
    run = Run.objects.earliest("pk")
    run.a_w = "0.6"
    run.save()
    gathered = gather(bench.method, b.NOW, QUARTER)
    data = own_data(gathered, bench.instrument, SpecificationVersion.objects.latest("pk"), 8)
    assert data.resolution == pytest.approx(0.0001, rel=1e-12)


@pytest.mark.parametrize(
    ("typed", "step"), [(["0.61", "0.62", "0.6312"], 0.01), (["0.613", "0.6312"], 0.001), ([], 0.001)]
)
def test_the_resolution_is_the_step_of_most_readings(typed: list[str], step: float) -> None:
    """Of two that are as many, the coarser: on the side of doubt."""
    assert resolution_of(typed) == pytest.approx(step, rel=1e-12)
