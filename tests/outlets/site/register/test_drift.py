"""Is it drifting: the line through each reference's deviations, and what the ledger says of instrument and bottles."""

from __future__ import annotations

import re
from datetime import timedelta
from itertools import pairwise
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest
from scipy.stats import linregress
from tests.outlets.site import make
from tests.outlets.site.register.making import make_check

from isohume.outlets.site.checks.models import Check
from isohume.outlets.site.people.models import Person
from isohume.outlets.site.people.roles import MANAGER
from isohume.outlets.site.register.bottle_life import bottle_answer, bottle_chart, ledger_of, sibling_chart
from isohume.outlets.site.register.drift import FEWEST_CHECKS, drift_words, traces
from isohume.outlets.site.register.models import Bottle, Instrument, MethodVersion
from isohume.outlets.site.register.pictures import trace_chart

SCATTER = (0.0004, -0.0003, 0.0001, -0.0005, 0.0002, 0.0005, -0.0002, -0.0001, 0.0003, -0.0004)


class Bench:
    """An instrument with two references and ten days of checks."""

    def __init__(self) -> None:
        site = make.make_site()
        self.manager: Person = make.make_person(site, MANAGER)
        self.version: MethodVersion = make.make_method(site)
        self.instrument: Instrument = make.make_instrument(site)
        self.wet: Bottle = make.make_bottle(site)
        self.dry: Bottle = make.make_bottle(site, "MgCl2")

    def check_daily(self, wet_a_day: float, dry_a_day: float, days: int = 10) -> list[Check]:
        """One check a day; each reference goes off by so much a day, with scatter."""
        made = []
        for day in range(days):
            at = make.NOW - timedelta(days=days - 1 - day, hours=1)
            off = {self.wet: day * wet_a_day + SCATTER[day], self.dry: day * dry_a_day + SCATTER[-1 - day]}
            made.append(make_check(self.instrument, self.version, self.manager, off, at))
        return made


@pytest.fixture
def bench(site_db: Path) -> Bench:
    return Bench()


def _said(bench: Bench) -> tuple[str, str]:
    return drift_words(bench.instrument, ledger_of(bench.instrument.site, make.NOW))


def _sibling(bench: Bench) -> Bottle:
    """A second bottle of the wet solution, read with every check from now on."""
    return Bottle.objects.create(solution_lot=bench.wet.solution_lot, code="2", opened_at=make.NOW - timedelta(days=40))


def _daily(bench: Bench, sibling: Bottle, wet: float, both: float = 0.0, days: int = 20, of_them: int = 6) -> None:
    """Checks of three bottles; over the last days the wet bottle alone, or everything, goes off by so much a day."""
    for day in range(days):
        at = make.NOW - timedelta(days=days - 1 - day, hours=1)
        gone = max(0, day - (days - of_them) + 1)
        noise = [SCATTER[(day + k * 3) % 10] for k in range(3)]
        off = {
            bench.wet: gone * (wet + both) + noise[0],
            sibling: gone * both + noise[1],
            bench.dry: gone * both + noise[2],
        }
        make_check(bench.instrument, bench.version, bench.manager, off, at)


def test_no_check_says_not_known(bench: Bench) -> None:
    assert traces(bench.instrument, make.NOW) == []
    assert ledger_of(bench.instrument.site, make.NOW) is None
    assert _said(bench) == ("Not known yet: OW-1 has too few checks in 60 days.", "unknown")
    assert bottle_answer(bench.wet, None).word == "not known yet"


def test_too_few_checks_have_no_slope(bench: Bench) -> None:
    bench.check_daily(0.002, 0.002, days=FEWEST_CHECKS - 1)
    dry, wet = traces(bench.instrument, make.NOW)
    assert (dry.reference, wet.reference) == ("MgCl2", "NaCl")
    assert dry.line is None
    assert f"{FEWEST_CHECKS - 1} checks, {FEWEST_CHECKS} needed" in dry.words
    assert _said(bench)[1] == "unknown"


def test_scatter_alone_is_no_drift(bench: Bench) -> None:
    _daily(bench, _sibling(bench), wet=0.0)
    said, shape = _said(bench)
    assert re.fullmatch(r"No drift of OW-1 to be seen in 60 days. One of 0\.000\d a day would stand out.", said)
    assert shape == "pass"
    answer = bottle_answer(bench.wet, ledger_of(bench.instrument.site, make.NOW))
    assert (answer.word, answer.shape) == ("no drift to be seen", "pass")


def test_all_references_going_the_same_way_is_the_instrument(bench: Bench) -> None:
    sibling = _sibling(bench)
    _daily(bench, sibling, wet=0.0, both=0.001)
    said, shape = _said(bench)
    assert said.startswith("Instrument, not bottle: OW-1 moves +0.001")
    assert shape == "due"
    ledger = ledger_of(bench.instrument.site, make.NOW)
    assert [bottle_answer(bottle, ledger).shape for bottle in (bench.wet, sibling, bench.dry)] == ["pass"] * 3


def test_one_bottle_against_its_sibling_is_the_bottle(bench: Bench) -> None:
    sibling = _sibling(bench)
    _daily(bench, sibling, wet=0.001)
    said, shape = _said(bench)
    assert said.startswith("No drift of OW-1 to be seen in 60 days. ")
    assert said.endswith(" What moves is a bottle: NaCl-26-04 / 1.")
    assert shape == "pass"
    ledger = ledger_of(bench.instrument.site, make.NOW)
    wet, other = bottle_answer(bench.wet, ledger), bottle_answer(sibling, ledger)
    assert (wet.word, wet.shape) == ("drifts: bottle, not instrument", "due")
    assert wet.words[0].startswith("Bottle, not instrument: NaCl-26-04 / 1 moves +0.00")
    assert "limit of the check" in wet.words[1]
    assert other.shape == "pass"


def test_a_bottle_without_a_sibling_cannot_be_told_apart(bench: Bench) -> None:
    bench.check_daily(0.0015, 0.0)
    said, shape = _said(bench)
    assert "cannot be told apart. Read a second bottle" in said
    assert shape == "due"
    assert bottle_answer(bench.wet, ledger_of(bench.instrument.site, make.NOW)).word == "moves: cannot be told apart"


def test_a_void_check_says_nothing_in_the_ledger(bench: Bench) -> None:
    _daily(bench, _sibling(bench), wet=0.001)
    Check.objects.update(voided_at=make.NOW)
    assert ledger_of(bench.instrument.site, make.NOW) is None


def test_the_chart_beside_siblings_holds_what_the_instrument_did_away_from_it(bench: Bench) -> None:
    assert sibling_chart(bench.wet) is None
    sibling = _sibling(bench)
    for off, at in ((0.0, make.NOW - timedelta(days=1)), (0.004, make.NOW)):
        read = {bench.wet: 0.002 + off, sibling: 0.001 + off}
        make_check(bench.instrument, bench.version, bench.manager, read, at)
    chart = sibling_chart(bench.wet)
    assert chart is not None
    assert [row[1] for row in chart.rows] == ["+0.0010", "+0.0010"]


def test_the_slope_is_that_of_an_independent_library(bench: Bench) -> None:
    bench.check_daily(0.0004, 0.0)
    wet = traces(bench.instrument, make.NOW)[1]
    theirs = linregress(range(10), [one.deviation for one in wet.found])
    assert wet.line is not None
    assert wet.line.slope == pytest.approx(theirs.slope, rel=1e-9)
    assert wet.line.u_slope == pytest.approx(theirs.stderr, rel=1e-9)
    assert dict(wet.how["inputs"])["Checks"] == "10"


def test_a_void_check_is_drawn_but_does_not_count(bench: Bench) -> None:
    first, *_ = bench.check_daily(0.0, 0.0)
    before = traces(bench.instrument, make.NOW)[1]
    first.voided_at = make.NOW
    first.save()
    wet = traces(bench.instrument, make.NOW)[1]
    assert len(wet.counted) == len(before.counted) - 1
    assert trace_chart(wet, ZoneInfo("Europe/London")).rows[0][2] == "void"


def test_older_and_later_checks_and_other_instruments_are_left_out(bench: Bench) -> None:
    bench.check_daily(0.0, 0.0, days=3)
    other = make.make_instrument(bench.instrument.site, "OW-2")
    make_check(other, bench.version, bench.manager, {bench.wet: 0.0}, make.NOW - timedelta(days=1))
    make_check(bench.instrument, bench.version, bench.manager, {bench.wet: 0.0}, make.NOW - timedelta(days=31))
    make_check(bench.instrument, bench.version, bench.manager, {bench.wet: 0.0}, make.NOW + timedelta(days=1))
    assert [len(trace.found) for trace in traces(bench.instrument, make.NOW)] == [3, 3]


def test_the_chart_says_where_another_bottle_began(bench: Bench) -> None:
    bench.check_daily(0.0, 0.0, days=2)
    second = Bottle.objects.create(solution_lot=bench.wet.solution_lot, code="2", opened_at=make.NOW)
    make_check(bench.instrument, bench.version, bench.manager, {second: 0.009}, make.NOW)
    chart = trace_chart(traces(bench.instrument, make.NOW)[1], ZoneInfo("Europe/London"))
    states = [row[2] for row in chart.rows]
    assert sorted(states) == ["beyond", "event", "within", "within"]
    assert "another bottle" in str(chart.svg)
    assert all(earlier[0] <= later[0] for earlier, later in pairwise(chart.rows))


def test_a_bottle_is_followed_over_all_instruments(bench: Bench) -> None:
    assert bottle_chart(bench.wet) is None
    bench.check_daily(0.001, 0.0, days=10)
    other = make.make_instrument(bench.instrument.site, "OW-2")
    make_check(other, bench.version, bench.manager, {bench.wet: 0.0003}, make.NOW)
    chart = bottle_chart(bench.wet)
    assert chart is not None
    assert [row[3] for row in chart.rows] == ["OW-1"] * 10 + ["OW-2"]
    assert chart.rows[-1][1] == "+0.0003"
    assert chart.rows[9][2] == "beyond"  # 9 days at 0.001, limit 0.005
