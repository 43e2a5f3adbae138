"""A budget from past checks and duplicates where own data are too few: told everywhere, releasing no safety limit."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path

import pytest
from django.test import Client
from django.urls import reverse
from tests.outlets.site.lots import bench_day as b
from tests.outlets.site.lots.bench_day import Bench

from isohume.bench.decision.living_budget import BIAS
from isohume.bench.decision.unverified_budget import HELD, SAID
from isohume.outlets.site.adjustments.models import ScaleChange
from isohume.outlets.site.budgets.actions.adopt_budget import AdoptBudget
from isohume.outlets.site.budgets.effects import effects_of
from isohume.outlets.site.budgets.proposal import Proposal, propose
from isohume.outlets.site.checks.models import Check
from isohume.outlets.site.incoming.actions.bring_history import BringHistory
from isohume.outlets.site.ledger.actions import By, perform
from isohume.outlets.site.ledger.trail import trail_of
from isohume.outlets.site.lots.frozen import frozen
from isohume.outlets.site.register.actions.set_budget import SetBudget
from isohume.outlets.site.register.models import MethodVersion, SpecificationVersion

BACKEND = "django.contrib.auth.backends.ModelBackend"
OWN_DAYS, PAST_DAYS, PAST_PAIRS = 3, 10, 8
OFF = (0.0006, -0.0002, 0.0011, 0.0002, -0.0006, 0.0009)


@pytest.fixture
def bench(site_db: Path) -> Bench:
    """Four own opening checks and three lots with two portions 0.0010 apart: too little for a budget."""
    found = b.make_bench()
    for day in range(1, OWN_DAYS + 1):
        at = b.OPENED - timedelta(days=day)
        read = (("MgCl2", f"{0.3279 + OFF[day]:.4f}"), ("NaCl", f"{0.7530 - OFF[day]:.4f}"))
        b.make_check(found.instrument, found.method, found.analyst, at, read=read)
        sample = b.make_lot(found, f"SB-{day:02}").samples.get()
        for letter, a_w in (("A", "0.6400"), ("B", "0.6410")):
            b.make_run(found, b.make_portion(found, sample, letter), a_w, at + timedelta(minutes=30))
    return found


def bring(bench: Bench, until: int = OWN_DAYS + 1, pairs: int = PAST_PAIRS) -> None:
    """Ten days of past checks, the last one so many days ago, and past duplicates 0.0020 apart."""
    by, rows, lots = By(bench.manager, b.NOW), [], []
    for n in range(PAST_DAYS):
        on = (b.NOW - timedelta(days=until + n)).date()
        for name, value in (("MgCl2", 0.3279), ("NaCl", 0.7530)):
            rows.append(f"{on},OW-1,{name},{value},{value + OFF[n % 6]:.4f}")
    lots = [f"2026-05-{1 + n:02},Soft oat bar,,OLD-{n},0.6400,0.6420" for n in range(pairs)]
    checks = "\n".join(["date,instrument,reference,expected_a_w,a_w", *rows]).encode()
    perform(BringHistory(bench.site, "checks", "checks.csv", checks, "bench book"), by)
    content = "\n".join(["date,product,component,lot,a_w,second_a_w", *lots]).encode()
    perform(BringHistory(bench.site, "lots", "lots.csv", content, "bench book"), by)


def adopt(bench: Bench) -> Proposal:
    """The manager adopts what is proposed."""
    proposal = propose(bench.method, b.NOW)
    perform(AdoptBudget(bench.method, proposal.digest, "until autumn"), By(bench.manager, b.NOW))
    return proposal


def test_without_history_there_is_no_proposal(bench: Bench) -> None:
    assert propose(bench.method, b.NOW).deciding is None


def test_past_checks_and_duplicates_stand_in_and_every_line_says_so(bench: Bench) -> None:
    bring(bench)
    proposal = propose(bench.method, b.NOW)
    case = proposal.deciding
    assert case is not None
    assert (case.seeds.checks, case.budget.checks) == (PAST_DAYS, PAST_DAYS + OWN_DAYS + 1)
    # s_r^2 = (3 x 0.001^2/2 + 8 x 0.002^2/2)/11
    assert case.budget.s_r == pytest.approx(((3 * 0.001**2 / 2 + 8 * 0.002**2 / 2) / 11) ** 0.5)
    assert proposal.source.startswith("historical, unverified: 10 of 14 checks of OW-1 on MgCl2 saturated")
    assert "8 of 11 degrees of freedom of s_r" in proposal.source
    (bias,) = (part for part in case.budget.parts if part.component.name == BIAS)
    assert "10 of 14 checks historical, unverified" in bias.found
    assert any("opening checks, 9 needed" in why for why in proposal.lacking)


def test_the_effect_stands_on_the_page_before_anybody_adopts_it(bench: Bench, client: Client) -> None:
    bring(bench)
    client.force_login(bench.manager, BACKEND)
    page = client.get(reverse("budget_refresh", args=[bench.method.pk])).content.decode()
    (effect,) = effects_of(propose(bench.method, b.NOW))
    assert f"{effect.effect.guard_after:.4f}" in page
    assert "with historical, unverified data" in page
    assert "releases no food-safety limit until it is refreshed from own data" in page
    assert page.count("10 of 14 checks historical, unverified</span>") == 3  # bias, day to day, drift
    assert "8 of 11 degrees of freedom historical, unverified" in page


def test_it_judges_and_holds_what_is_under_a_safety_limit(bench: Bench) -> None:
    bring(bench)
    SpecificationVersion.objects.update(kind="safety")
    before = b.judge(bench, b.make_lot(bench, "SB-0916-01", "0.6331", "0.6341"))
    assert (before.verdict, before.disposition) == ("pass", "release")
    adopt(bench)
    bench.method = MethodVersion.objects.get(pk=bench.method.pk)
    held = b.judge(bench, b.make_lot(bench, "SB-0916-02", "0.6331", "0.6341"))
    assert (held.verdict, held.disposition) == ("pass", "hold")
    content = frozen(held.record).content
    assert HELD in content["decision"]["reasons"]
    assert content["budget"]["label"].startswith("historical, unverified data")
    assert content["uncertainty"]["source"].startswith("historical, unverified")


def test_a_quality_limit_is_released_and_says_what_it_stands_on(bench: Bench) -> None:
    bring(bench)
    adopt(bench)
    found = b.judge(bench, b.make_lot(bench, "SB-0916-02", "0.6331", "0.6341"))
    assert (found.verdict, found.disposition) == ("pass", "release")
    assert SAID in frozen(found.record).content["decision"]["reasons"]


def test_the_ledger_and_the_list_of_budgets_say_it(bench: Bench, client: Client) -> None:
    bring(bench)
    adopt(bench)
    line = trail_of(bench.method.ref)[-1]
    assert line.kind == "budget_adopted"
    assert line.details["source"].startswith("historical, unverified")
    client.force_login(bench.manager, BACKEND)
    assert "historical, unverified" in client.get(reverse("budgets")).content.decode()


def test_own_data_take_over_as_soon_as_they_are_enough(bench: Bench) -> None:
    bring(bench, until=40)
    for day in range(OWN_DAYS + 1, 14):
        at = b.OPENED - timedelta(days=day)
        read = (("MgCl2", f"{0.3279 + OFF[day % 6]:.4f}"), ("NaCl", f"{0.7530 - OFF[day % 6]:.4f}"))
        b.make_check(bench.instrument, bench.method, bench.analyst, at, read=read)
    half = propose(bench.method, b.NOW)
    assert half.deciding is not None
    assert (half.deciding.seeds.checks, half.deciding.seeds.pairs) == (0, PAST_PAIRS)  # only what is lacking
    for number in range(6):
        sample = b.make_lot(bench, f"SB-2{number}").samples.get()
        for letter, a_w in (("A", "0.6400"), ("B", "0.6410")):
            b.make_run(bench, b.make_portion(bench, sample, letter), a_w, b.OPENED + timedelta(minutes=30))
    own = propose(bench.method, b.NOW)
    assert not own.unverified
    assert own.source.startswith("Own data")


def test_checks_from_before_an_adjustment_or_after_the_first_own_one_are_left_out(bench: Bench) -> None:
    bring(bench, until=OWN_DAYS - 1)  # two of the ten days are own days already
    assert propose(bench.method, b.NOW).cases[0].seeds.checks == PAST_DAYS - 2
    first = Check.objects.earliest("first_read_at").first_read_at
    ScaleChange.objects.create(
        instrument=bench.instrument, at=first - timedelta(hours=30), kind="adjusted", about="x:1", words="adjusted"
    )
    assert propose(bench.method, b.NOW).deciding is None


def test_a_reference_that_no_own_check_read_has_no_uncertainty_and_is_left_out(bench: Bench) -> None:
    rows = [f"2026-08-{day:02},OW-1,LiCl,0.113,0.1135" for day in range(1, 20)]
    content = "\n".join(["date,instrument,reference,expected_a_w,a_w", *rows]).encode()
    perform(BringHistory(bench.site, "checks", "old.csv", content, "book"), By(bench.manager, b.NOW))
    assert propose(bench.method, b.NOW).deciding is None


def test_a_budget_that_a_person_types_from_history_holds_alike(bench: Bench) -> None:
    SpecificationVersion.objects.update(kind="safety")
    source = "Historical,  unverified: bench book of 2025"
    typed = SetBudget(bench.method, "own data", u_other="0.003", s_r="0.002", source=source, reason="a start")
    perform(typed, By(bench.manager, b.NOW))
    found = b.judge(bench, b.make_lot(bench, "SB-0916-02", "0.6331", "0.6341"))
    assert (found.verdict, found.disposition) == ("pass", "hold")
