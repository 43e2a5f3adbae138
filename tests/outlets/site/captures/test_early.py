"""What is said of a captured run before it has settled: off by default, by its lot's own limits, the safe side only."""

from __future__ import annotations

import math
import sqlite3
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from tests.outlets.site.lots.bench_day import NOW, Bench, make_bench, make_lot, make_portion

from isohume.bench.reading.settling.forecast import Forecast
from isohume.bench.record.tables import DATABASE
from isohume.outlets.site.adjustments.models import Correction
from isohume.outlets.site.bench.models import Sample
from isohume.outlets.site.captures.early import early_rules, early_words
from isohume.outlets.site.captures.early_rule import early_rules_of, early_sql
from isohume.outlets.site.captures.models import Agent, CapturedRun, Spool
from isohume.outlets.site.live.database import opened
from isohume.outlets.site.register.models import Budget, MethodVersion

FAR_BEYOND = Forecast(0.700, 0.695, 0.705)
INSIDE = Forecast(0.620, 0.618, 0.622)


@pytest.fixture
def bench(site_db: Path) -> Bench:
    """A bench with a quality limit of 0.650, u_other 0.0032 and s_r 0.0020."""
    return make_bench()


def captured(bench: Bench, code: str = "SB-0916-01", component: str = "whole bar") -> CapturedRun:
    """A run of a cup that is still going on."""
    lot = make_lot(bench, code)
    Sample.objects.filter(lot=lot).update(component=component)
    agent, _ = Agent.objects.get_or_create(
        site=bench.site, name="bench 1", defaults={"token_sha256": "0" * 64, "registered_at": NOW, "by": bench.manager}
    )
    spool, _ = Spool.objects.get_or_create(agent=agent, key="a" * 32)
    portion = make_portion(bench, lot.samples.get(), "A")
    shared = {"site": bench.site, "instrument": bench.instrument, "agent": agent, "spool": spool}
    return CapturedRun.objects.create(key=code, started_at=NOW, portion=portion, **shared)


def speaks_early(**more: Any) -> None:
    """The method's version says that verdicts may be told early."""
    MethodVersion.objects.update(early_verdicts=True, **more)


def test_it_is_off_by_default(bench: Bench) -> None:
    run = captured(bench)
    assert early_words(run, FAR_BEYOND) == ""
    speaks_early()
    assert "cannot change the verdict on this portion: fail" in early_words(run, FAR_BEYOND)


def test_the_page_says_by_how_much_it_could(bench: Bench) -> None:
    speaks_early()
    said = early_words(captured(bench), Forecast(0.6480, 0.6440, 0.6520))
    assert said.startswith("Further waiting cannot change the side of the acceptance limit: outside")
    assert "from 0.6440 to 0.6520" in said
    assert "The lot may be held now." in said


def test_a_pass_waits_for_the_criterion_and_at_a_safety_limit_always(site_db: Path) -> None:
    run = captured(make_bench(kind="safety"))
    speaks_early(estimates_validated="Validation report BM-12-V2")
    rule = early_rules([run.pk])[run.pk]
    waiting = rule.waiting(INSIDE.value, INSIDE.low, INSIDE.high)
    assert waiting is not None
    assert (waiting.decided, waiting.verdict, waiting.may_act) == (True, "pass", "")
    assert "passing needs the method's criterion met" in early_words(run, INSIDE)


def test_a_quality_limit_needs_the_document(bench: Bench) -> None:
    run = captured(bench)
    for document, act in (("", ""), ("Validation report BM-12-V2", "pass")):
        speaks_early(estimates_validated=document)
        waiting = early_rules([run.pk])[run.pk].waiting(INSIDE.value, INSIDE.low, INSIDE.high)
        assert waiting is not None
        assert waiting.may_act == act


def test_u_is_that_of_one_settled_portion(bench: Bench) -> None:
    """sqrt(0.0032^2 + 0.0020^2) by hand; the starter budget is the published s_R 0.009; a place adds s_position."""
    speaks_early()
    run = captured(bench)
    assert early_rules([run.pk])[run.pk].u_other == pytest.approx(math.sqrt(0.0032**2 + 0.0020**2), rel=1e-12)
    Budget.objects.update(s_position="0,0040")
    with_place = math.sqrt(0.0032**2 + 0.0020**2 + 0.0040**2)
    assert early_rules([run.pk])[run.pk].u_other == pytest.approx(with_place, rel=1e-12)
    Budget.objects.all().delete()
    assert early_rules([run.pk])[run.pk].u_other == 0.009


def test_the_version_and_budget_in_force_speak(bench: Bench) -> None:
    run = captured(bench)
    later = MethodVersion.objects.create(method=bench.method.method, version="4", since=NOW, early_verdicts=True)
    Budget.objects.create(
        method_version=later, basis="collaborative study", s_reproducibility="0.010", source="studies", since=NOW
    )
    assert early_rules([run.pk])[run.pk].u_other == 0.010
    MethodVersion.objects.create(method=bench.method.method, version="5", since=NOW)
    assert early_rules([run.pk]) == {}


def test_another_component_and_an_unassigned_run_have_no_limit(bench: Bench) -> None:
    speaks_early()
    assert early_words(captured(bench, component="filling"), FAR_BEYOND) == ""
    orphan = captured(bench, "SB-0916-02")
    CapturedRun.objects.filter(pk=orphan.pk).update(portion=None)
    orphan.refresh_from_db()
    assert early_words(orphan, FAR_BEYOND) == ""
    assert early_words(captured(bench, "SB-0916-03"), None) == ""


def test_while_a_correction_is_in_force_nothing_is_said(bench: Bench) -> None:
    speaks_early()
    run = captured(bench)
    numbers = {"offset": "0.01", "slope": "1", "u_offset": "0", "u_slope": "0", "covariance": "0"}
    shared = {"of_check": bench.opening, "references": [], "caps": {}, "lowest_read": "0.3", "highest_read": "0.7"}
    in_force = Correction.objects.create(
        instrument=bench.instrument, version=1, since=NOW - timedelta(hours=1), reason="x", by=bench.manager,
        **numbers, **shared,
    )  # fmt: skip
    assert early_words(run, FAR_BEYOND).startswith("A correction is in force")
    Correction.objects.filter(pk=in_force.pk).update(ended_at=NOW - timedelta(minutes=5))
    assert "cannot change" in early_words(run, FAR_BEYOND)


def test_a_guard_that_leaves_nothing_says_nothing(site_db: Path) -> None:
    run = captured(make_bench(lower="0.640", lower_operator=">="))
    speaks_early()
    assert early_words(run, INSIDE) == ""


def test_many_runs_are_one_question(bench: Bench) -> None:
    speaks_early()
    runs = [captured(bench, f"SB-{n}").pk for n in range(5)]
    with CaptureQueriesContext(connection) as asked:
        assert set(early_rules(runs)) == set(runs)
    assert len(asked) == 1
    assert early_rules([]) == {}


def test_a_process_that_only_reads_loads_the_same_rules(bench: Bench, site_db: Path) -> None:
    """The live process asks by its own read-only connection."""
    speaks_early()
    runs = [captured(bench, f"SB-{n}").pk for n in range(3)]
    reader: sqlite3.Connection = opened(site_db / DATABASE)
    try:
        found = early_rules_of(reader.execute(early_sql(len(runs)), runs).fetchall())
    finally:
        reader.close()
    assert found == early_rules(runs)
    assert len(found) == 3
