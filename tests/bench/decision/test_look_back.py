"""Results after a failed check: plant A's eleven lots by the worked numbers, and what must hold for any of them."""

from __future__ import annotations

import math
from datetime import UTC, datetime, timedelta
from decimal import Decimal

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from isohume.bench.assurance.bias import BiasPoint, bias_at
from isohume.bench.assurance.look_back import PastCheck, ReferenceInCheck, window_of
from isohume.bench.decision import Specification
from isohume.bench.decision.look_back import LookBack, PortionRead, ResultGiven, combined_u, look_back
from isohume.foundation.quantity.limits import Limit

TUESDAY = datetime(2026, 9, 15, 6, 5, tzinfo=UTC)
WEDNESDAY = datetime(2026, 9, 16, 6, 10, tzinfo=UTC)
# job.md, section 8, plant A: as read, the limit of the soft oat bar, the failed check
AS_READ = ("0.634", "0.638", "0.631", "0.642", "0.637", "0.635", "0.629", "0.645", "0.636", "0.639", "0.632")
POINTS = (
    BiasPoint("LiCl", 0.1130, -0.001, 0.0020, 0.0015),
    BiasPoint("MgCl2", 0.3278, -0.004, 0.0017, 0.0015),
    BiasPoint("Mg(NO3)2", 0.5289, -0.009, 0.0019, 0.0015),
    BiasPoint("NaCl", 0.7529, -0.012, 0.0016, 0.0015),
)
SOFT_BAR = Specification(None, Limit(Decimal("0.650"), "<="), "quality", Decimal("1.64"), True)
GOOD = PastCheck(1, "opening", TUESDAY, TUESDAY + timedelta(minutes=15), True, (0.113, 0.7529))
CLOSING = PastCheck(5, "closing", TUESDAY + timedelta(hours=9), TUESDAY + timedelta(hours=9.2), True, (0.113, 0.7529))
FAILED = PastCheck(9, "opening", WEDNESDAY, WEDNESDAY + timedelta(minutes=15), False, None)


def eleven() -> list[ResultGiven]:
    """The soft bars of Tuesday, two portions each."""
    found = []
    for k, value in enumerate(AS_READ, 1):
        at = TUESDAY + timedelta(minutes=120 + 14 * k)
        pair = tuple(PortionRead(float(value), at + timedelta(minutes=7 * n)) for n in range(2))
        found.append(ResultGiven(f"SB-0915-{k:02}", Decimal(value), 0.0035, SOFT_BAR, pair, "pass"))
    return found


def looked(results: list[ResultGiven], *others: PastCheck) -> LookBack:
    references = [ReferenceInCheck(p.name, p.a_w, abs(p.deviation) <= 0.005) for p in POINTS]
    window = window_of(FAILED, references, [GOOD, *others])
    return look_back(window, POINTS, results, {1: [BiasPoint("NaCl", 0.7529, 0.0, 0.0016, 0.0015)]})


def test_plant_a_eleven_lots_two_beyond_ranked() -> None:
    found = looked(eleven())
    assert len(found.results) == 11
    assert found.beyond == 2
    by_lot = {one.given.lot: one for one in found.results}
    assert round(float(by_lot["SB-0915-04"].corrected), 3) == 0.653
    assert round(float(by_lot["SB-0915-08"].corrected), 3) == 0.656
    assert [one.given.lot for one in found.results[:3]] == ["SB-0915-08", "SB-0915-04", "SB-0915-10"]
    probabilities = [one.decision.probability_of_conformity or 0 for one in found.results]
    assert probabilities == sorted(probabilities)
    for one in found.results:
        above = 0.644 < float(one.corrected) <= 0.650
        assert (one.decision.verdict == "conditional pass") == above, one.given.lot
        assert one.decision.guard_band is not None
        # the value's own u alone gives 1.64 x 0.0035; that the bias differs by 0.003 about it adds to it
        assert 0.0057 < float(one.decision.guard_band) < 0.0060


def test_a_closing_pass_shrinks_the_list_to_nothing() -> None:
    assert looked(eleven(), CLOSING).results == ()


def test_nothing_but_hold_comes_out_of_it() -> None:
    """Also where the corrected value passes, and where a quality limit lets a conditional pass go."""
    for one in looked(eleven()).results:
        assert one.disposition == one.decision.disposition == "hold"
        assert any("never releases" in reason for reason in one.decision.reasons)


def test_the_bias_in_time_is_only_a_comparison() -> None:
    for one in looked(eleven()).results:
        assert one.corrected_in_time is not None
        assert float(one.given.value) < one.corrected_in_time < float(one.corrected)


def test_a_mean_of_which_one_portion_was_read_after_the_fault_is_corrected_by_half() -> None:
    at = TUESDAY + timedelta(hours=3)
    pair = (PortionRead(0.642, at), PortionRead(0.642, at, here=False))
    half = looked([ResultGiven("SB-1", Decimal("0.642"), 0.0035, SOFT_BAR, pair, "pass")]).results[0]
    median = looked([ResultGiven("SB-1", Decimal("0.642"), 0.0035, SOFT_BAR, pair, "pass", is_median=True)]).results[0]
    assert half.share == 0.5
    assert float(half.corrected) - 0.642 == pytest.approx((float(median.corrected) - 0.642) / 2, abs=1e-12)
    assert median.share == 1


def test_where_both_references_were_within_it_is_said_and_not_counted() -> None:
    read = (PortionRead(0.29, TUESDAY + timedelta(hours=3)),)
    base = Specification(Limit(Decimal("0.22"), ">="), Limit(Decimal("0.36"), "<="), "quality")
    found = looked([ResultGiven("OB-1", Decimal("0.29"), 0.0035, base, read, "pass")])
    assert found.results == ()
    assert [one.given.lot for one in found.beside] == ["OB-1"]


def test_a_guard_that_leaves_nothing_gives_no_verdict_and_comes_first() -> None:
    narrow = Specification(Limit(Decimal("0.640"), ">="), Limit(Decimal("0.6545"), "<="), "quality", Decimal(2))
    pair = (PortionRead(0.640, TUESDAY + timedelta(hours=3)),)
    one = ResultGiven("NB-1", Decimal("0.640"), 0.0036, narrow, pair, "pass")
    found = looked([*eleven(), one])
    assert (found.results[0].given.lot, found.results[0].decision.verdict) == ("NB-1", "no verdict")


def test_u_of_a_corrected_value_by_monte_carlo() -> None:
    """JCGM 101: what is left of the value, what the references add, and the instrument's own part once."""
    dice, draws = np.random.default_rng(11), 400_000
    bias = bias_at(0.642, POINTS)
    own = bias.u_common
    error = (
        dice.normal(0, math.sqrt(0.0035**2 - own**2), draws)
        + dice.normal(0, math.sqrt(bias.u**2 - own**2), draws)
        + dice.normal(0, own, draws)
    )
    assert combined_u(0.0035, bias) == pytest.approx(error.std(), rel=0.02)


@given(
    st.lists(st.tuples(st.decimals("0.55", "0.74", places=4), st.integers(-600, 1500)), min_size=1, max_size=12),
    st.floats(0.001, 0.009),
)
def test_for_any_results(read: list[tuple[Decimal, int]], u: float) -> None:
    results = [
        ResultGiven(f"L{k}", value, u, SOFT_BAR, (PortionRead(float(value), TUESDAY + timedelta(minutes=n)),))
        for k, (value, n) in enumerate(read)
    ]
    found = looked(results)
    assert {r.given.lot for r in found.results} == {f"L{k}" for k, (_, n) in enumerate(read) if n > 0}, (
        "everything after the good check and nothing before; no check has passed since"
    )
    for one in found.results:
        assert float(one.corrected) == pytest.approx(float(one.given.value) - one.bias.bias, abs=1e-12)
        assert one.u >= math.sqrt(max(one.bias.u**2 - one.bias.u_common**2, 0))
        assert one.disposition == "hold"
    order = [one.decision.probability_of_conformity for one in found.results]
    known = [-1.0 if p is None else p for p in order]
    assert known == sorted(known)
