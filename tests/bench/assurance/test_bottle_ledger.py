"""The bottle ledger: a bottle that moves, an instrument that moves, and what cannot be told apart."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest
from scipy.stats import linregress, t

from isohume.bench.assurance.bottle_findings import BottleLedger, BottleReading
from isohume.bench.assurance.bottle_ledger import bottle_ledger
from isohume.bench.assurance.movement_fit import Scatter, scatter_of, successive
from isohume.foundation.quantity.errors import InputError

LIMIT = 0.005
PAIR = (("A", "NaCl"), ("B", "NaCl"))
FOUR = (*PAIR, ("C", "MgCl2"), ("D", "LiCl"))
LONE = (("A", "NaCl"), ("C", "MgCl2"), ("D", "LiCl"))
S, S_DAY, HISTORY = 0.0008, 0.0005, 30
Drift = Callable[[str, str, float], float]


def _read(
    drift: Drift,
    bottles: tuple[tuple[str, str], ...] = FOUR,
    instruments: tuple[str, ...] = ("OW-1",),
    days: int = HISTORY + 5,
    seed: int = 1,
) -> list[BottleReading]:
    """One check a day on each instrument; day 1 of a drift is the first after the history."""
    rng = np.random.default_rng(seed)
    found = []
    for day in range(days):
        for instrument in instruments:
            shared = rng.normal(0.0, S_DAY)
            for bottle, solution in bottles:
                off = shared + rng.normal(0.0, S) + drift(bottle, instrument, max(0.0, day - HISTORY + 1))
                found.append(BottleReading(bottle, solution, instrument, f"{instrument}/{day}", day, off, 0.0001))
    return found


def _said(ledger: BottleLedger) -> list[tuple[str, set[str]]]:
    return [(m.kind, {c.name for c in m.causes}) for m in ledger.movements]


SEEDS = range(20)


def test_a_bottle_that_drifts_a_thousandth_a_day_is_flagged_by_day_5_and_the_instrument_is_not() -> None:
    for seed in SEEDS:
        ledger = bottle_ledger(_read(lambda b, _, d: 0.001 * d * (b == "A"), seed=seed), LIMIT)
        assert _said(ledger) == [("bottle", {"A"})], f"seed {seed}"
        assert ledger.flagged("bottle", "A")
        assert not ledger.flagged("instrument", "OW-1")
        assert not ledger.flagged("bottle", "B")
        assert ledger.movements[0].words.startswith("Bottle, not instrument: A moves +0.00")


def test_an_instrument_that_drifts_the_same_way_is_flagged_and_no_bottle_is() -> None:
    for seed in SEEDS:
        ledger = bottle_ledger(_read(lambda _b, _i, d: 0.001 * d, seed=seed), LIMIT)
        assert _said(ledger) == [("instrument", {"OW-1"})], f"seed {seed}"
        assert ledger.flagged("instrument", "OW-1")
        assert not any(ledger.flagged("bottle", bottle) for bottle, _ in FOUR)


def test_a_pair_of_bottles_alone_is_enough() -> None:
    for seed in SEEDS:
        one = bottle_ledger(_read(lambda b, _, d: 0.001 * d * (b == "A"), PAIR, days=HISTORY + 6, seed=seed), LIMIT)
        both = bottle_ledger(_read(lambda _b, _i, d: 0.001 * d, PAIR, days=HISTORY + 6, seed=seed), LIMIT)
        assert (_said(one), _said(both)) == ([("bottle", {"A"})], [("instrument", {"OW-1"})])


def test_a_bottle_without_a_sibling_cannot_be_told_from_its_instrument() -> None:
    for seed in SEEDS:
        ledger = bottle_ledger(_read(lambda b, _, d: 0.001 * d * (b == "A"), LONE, days=HISTORY + 7, seed=seed), LIMIT)
        assert _said(ledger) == [("cannot be told apart", {"A", "OW-1"})]
        assert not ledger.flagged("bottle", "A")
        assert not ledger.flagged("instrument", "OW-1")
        assert "Read a second bottle" in ledger.movements[0].words


def test_one_bottle_alone_says_nothing_but_that_something_moves() -> None:
    ledger = bottle_ledger(_read(lambda _b, _i, d: 0.001 * d, LONE[:1], days=HISTORY + 15), LIMIT)
    assert _said(ledger) == [("cannot be told apart", {"A", "OW-1"})]


def test_a_second_instrument_tells_a_bottle_without_sibling() -> None:
    """Both instruments would have to move alike, on this solution alone: one bottle explains both."""
    told = [
        bottle_ledger(
            _read(lambda b, _, d: 0.001 * d * (b == "A"), LONE, ("OW-1", "OW-2"), HISTORY + 8, seed), LIMIT
        ).flagged("bottle", "A")
        for seed in SEEDS
    ]
    assert sum(told) >= 19


def test_one_of_two_instruments_moves() -> None:
    for seed in SEEDS:
        readings = _read(lambda _b, i, d: 0.001 * d * (i == "OW-1"), FOUR, ("OW-1", "OW-2"), HISTORY + 6, seed)
        assert _said(bottle_ledger(readings, LIMIT)) == [("instrument", {"OW-1"})]


def test_a_bottle_and_an_instrument_that_move_at_once_are_both_named() -> None:
    def drift(bottle: str, instrument: str, day: float) -> float:
        return 0.001 * day * (bottle == "A") - 0.001 * day * (instrument == "OW-1")

    ledger = bottle_ledger(_read(drift, FOUR, ("OW-1", "OW-2"), HISTORY + 9), LIMIT)
    assert sorted(_said(ledger), key=str) == [("bottle", {"A"}), ("instrument", {"OW-1"})]


def test_nothing_moves_nothing_is_said() -> None:
    assert not any(bottle_ledger(_read(lambda *_: 0.0, seed=seed), LIMIT).movements for seed in range(100))


def test_a_step_long_ago_is_no_drift_of_today() -> None:
    """A rim was smeared for one morning, and cleaned: neither the scatter nor the days since are spoilt by it."""
    rows = [
        r if r.day != 15 else BottleReading(r.bottle, r.solution, r.instrument, r.check, r.day, r.deviation - 0.01, r.u)
        for r in _read(lambda b, _, d: 0.001 * d * (b == "A"))
    ]
    assert _said(bottle_ledger(rows, LIMIT)) == [("bottle", {"A"})]


def test_a_movement_too_small_to_use_up_the_limit_in_thirty_days_is_left_alone() -> None:
    slow = _read(lambda b, _, d: 0.001 * d * (b == "A"), FOUR, days=HISTORY + 12)
    quiet = [BottleReading(r.bottle, r.solution, r.instrument, r.check, r.day, r.deviation / 50, 1e-6) for r in slow]
    assert bottle_ledger(quiet, LIMIT).movements == ()
    assert bottle_ledger(quiet, LIMIT / 100).movements != ()


def test_the_first_readings_are_a_bottles_own_baseline() -> None:
    """A bottle that was off from its first day does not move: its deviation is judged by the check."""
    off = [
        BottleReading(r.bottle, r.solution, r.instrument, r.check, r.day, r.deviation + 0.004 * (r.bottle == "A"), r.u)
        for r in _read(lambda *_: 0.0)
    ]
    ledger = bottle_ledger(off, LIMIT)
    assert ledger.movements == ()
    own = next(one for one in ledger.bottles if one.bottle == "A")
    assert own.first_deviation > 0.002
    assert (own.siblings, own.checks, own.days) == (("B",), HISTORY + 5, HISTORY + 4)


def test_a_lone_bottles_slope_is_that_of_an_independent_library() -> None:
    """Without siblings and without what a check shares, the ledger's slope is the ordinary straight line."""
    readings = _read(lambda _b, _i, d: 0.0003 * d, LONE[:1])
    theirs = linregress([r.day for r in readings], [r.deviation for r in readings])
    (own,) = bottle_ledger(readings, LIMIT, known={"OW-1": Scatter(0.001, 0.0, 50)}).bottles
    assert own.slope_a_day == pytest.approx(theirs.slope, rel=1e-9)
    spread = np.sqrt(sum((r.day - np.mean([x.day for x in readings])) ** 2 for r in readings))
    assert own.u_slope == pytest.approx(0.001 / spread, rel=1e-9)


def test_the_threshold_is_the_stated_rate_spread_over_the_tests_of_a_year() -> None:
    """35 daily checks, onsets 34, 17, 8.5, 4.25 and 2.125 days ago: 365.25 x 5 tests share a rate of 0.1."""
    known = {"OW-1": Scatter(S, S_DAY, 40.0)}
    ledger = bottle_ledger(_read(lambda b, _, d: 0.001 * d * (b == "A")), LIMIT, 0.1, known)
    wanted = t.isf(0.5 * 0.1 / (365.25 * 5), 40.0)
    assert ledger.movements[0].threshold == pytest.approx(wanted, rel=1e-6)


def test_the_scatter_of_readings_and_of_checks_is_found_again() -> None:
    rows = [(r.bottle, r.check, r.day, r.deviation) for r in _read(lambda *_: 0.0, days=3000) if r.instrument == "OW-1"]
    found = scatter_of(*successive(rows))
    assert found is not None
    assert found.s_reading == pytest.approx(S, rel=0.03)
    assert found.s_check == pytest.approx(S_DAY, rel=0.06)
    assert found.dof == pytest.approx(2999 * 3 * 2 / 3, rel=0.01)


def test_a_slow_drift_does_not_hide_in_the_scatter() -> None:
    rows = [(r.bottle, r.check, r.day, r.deviation) for r in _read(lambda _b, _i, d: 0.0005 * d, days=130)]
    found = scatter_of(*successive(rows))
    assert found is not None
    assert found.s_reading == pytest.approx(S, rel=0.15)
    assert found.s_check < 2 * S_DAY


def test_too_little_says_nothing() -> None:
    assert bottle_ledger([], LIMIT).movements == ()
    assert bottle_ledger(_read(lambda _b, _i, d: 1.0, days=1), LIMIT).movements == ()
    two = bottle_ledger(_read(lambda *_: 0.0, days=2), LIMIT)
    assert two.movements == ()
    assert {own.slope_a_day for own in two.bottles} == {None}


@pytest.mark.parametrize("limit", [0.0, -1.0, float("inf")])
def test_a_limit_must_be_above_zero(limit: float) -> None:
    with pytest.raises(InputError, match="limit"):
        bottle_ledger([], limit)


def test_a_reading_needs_its_least_u() -> None:
    with pytest.raises(InputError, match="u"):
        bottle_ledger([BottleReading("A", "NaCl", "OW-1", "1", 0.0, 0.0, 0.0)], LIMIT)


def test_an_adjustment_begins_another_baseline() -> None:
    """A step of an instrument at a known event is no drift; without the event it is a movement of the instrument."""
    stepped = [
        BottleReading(
            r.bottle,
            r.solution,
            r.instrument,
            r.check,
            r.day,
            r.deviation + 0.004 * (r.day >= 20),
            r.u,
            str(r.day >= 20),
        )
        for r in _read(lambda *_: 0.0)
    ]
    assert bottle_ledger(stepped, LIMIT).movements == ()
    unknown = [replace(r, epoch="") for r in stepped]
    assert _said(bottle_ledger(unknown, LIMIT))[0] == ("instrument", {"OW-1"})


def test_what_would_stand_out_is_what_does() -> None:
    """A drift clearly above the slope that is said to stand out is flagged, one clearly below it is not."""
    quiet = bottle_ledger(_read(lambda *_: 0.0, days=40), LIMIT)
    smallest = quiet.would_show("bottle", "A")
    assert smallest is not None
    for factor, flagged in ((2.0, True), (0.3, False)):
        rng = np.random.default_rng(5)
        moving = [
            replace(r, deviation=r.deviation + factor * smallest * r.day * (r.bottle == "A"))
            for r in _read(lambda *_: 0.0, days=40, seed=int(rng.integers(100)))
        ]
        assert bottle_ledger(moving, LIMIT).flagged("bottle", "A") is flagged
    assert bottle_ledger(_read(lambda *_: 0.0, days=3), LIMIT).would_show("bottle", "A") is None


def test_what_an_instrument_did_before_it_was_adjusted_is_over() -> None:
    """It drifted for ten days, was adjusted, and is still since."""
    before_and_after = [
        replace(r, deviation=r.deviation + 0.001 * min(max(r.day - 9, 0), 10) * (r.day < 20), epoch=str(r.day >= 20))
        for r in _read(lambda *_: 0.0)
    ]
    assert bottle_ledger(before_and_after, LIMIT).movements == ()


def test_checks_of_two_instruments_may_be_called_alike() -> None:
    readings = _read(lambda b, _, d: 0.001 * d * (b == "A"), FOUR, ("OW-1", "OW-2"))
    alike = [replace(r, check=str(r.day)) for r in readings]
    assert [m.words for m in bottle_ledger(alike, LIMIT).movements] == [
        m.words for m in bottle_ledger(readings, LIMIT).movements
    ]


def test_many_instruments_at_one_moment_are_one_moment() -> None:
    """Five instruments checked at the same minute make no movement of half a minute out of themselves."""
    instruments = tuple(f"OW-{k}" for k in range(5))
    readings = _read(lambda b, _, d: 0.001 * d * (b == "A"), FOUR, instruments)
    (movement,) = bottle_ledger(readings, LIMIT).movements
    assert movement.since_days >= 2.0
    assert movement.causes[0].name == "A"
