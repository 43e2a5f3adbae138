"""The living budget: by hand, against Monte Carlo, against a simulated laboratory whose truth is known."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pandas as pd
import pytest
from scipy import stats
from statsmodels.formula.api import ols
from statsmodels.stats.anova import anova_lm

from isohume.bench.decision.living_budget import (
    BIAS,
    DAY,
    DRIFT,
    HEAT_OF_SORPTION_J_MOL,
    REFERENCE,
    RESOLUTION,
    TEMPERATURE,
    LivingBudget,
    living_budget,
)
from isohume.bench.decision.own_data import CheckedReference, OwnData, within_checks
from isohume.foundation.metrology import Normal, Rectangular, StudentT, simulate
from isohume.foundation.quantity.errors import InputError

REFERENCES = {"Mg(NO3)2": (0.5289, 0.0011), "NaCl": (0.7529, 0.0006)}  # at 25 degC, with their u
LOW, HIGH = 0.600, 0.650


def _checked(rows: list[tuple[float, float]]) -> tuple[CheckedReference, ...]:
    """One opening check a day: what Mg(NO3)2 and NaCl deviate by."""
    return tuple(
        CheckedReference(f"c{day}", name, float(day), *_given(name, off))
        for day, pair in enumerate(rows)
        for name, off in zip(REFERENCES, pair, strict=True)
    )


def _given(name: str, off: float) -> tuple[float, float, float]:
    expected, u = REFERENCES[name]
    return expected, off, u


def _data(rows: list[tuple[float, float]], **more: Any) -> OwnData:
    return OwnData(_checked(rows), LOW, HIGH, 25.0, **more)


def _u(budget: LivingBudget, name: str) -> float:
    return next(part.component.u for part in budget.parts if part.component.name == name)


PAIRS = tuple((0.630, 0.630 + 0.002 * (-1) ** k) for k in range(10))  # ten duplicates, 0.002 apart: s_r 0.0014142


def test_a_budget_by_hand() -> None:
    """Five checks, small enough for paper.

    Mg(NO3)2: 0.001, 0.003, 0.002, 0.000, 0.004: mean 0.002, squares of the rest sum to 1.0e-5.
    NaCl: -0.001, 0.001, 0.002, -0.002, 0.000: mean 0, squares sum to 1.0e-5. Pooled: 2.0e-5/8 = 2.5e-6.
    Each from its mean: (-1, 1, 0, -2, 2) and (-1, 1, 2, -2, 0) e-3. Check means -1, 1, 1, -2, 1 e-3; left over
    0, 0, -1/+1, 0, +1/-1 e-3: sum of squares 4e-6, degrees of freedom 5 - 1 = 4, so 1.0e-6 a reading.
    Duplicates 0.002 apart: s_r^2 = 2.0e-6, larger, so 1.0e-6 is taken out: day^2 = 1.5e-6.
    """
    rows = [(0.001, -0.001), (0.003, 0.001), (0.002, 0.002), (0.000, -0.002), (0.004, 0.000)]
    budget = living_budget(_data(rows, portions=PAIRS, block_offset_k=(0.1,) * 9, closing=(0.003, -0.001) * 4))
    assert _u(budget, BIAS) == pytest.approx(math.sqrt((0.002**2 + 0.0) / 2))
    assert _u(budget, REFERENCE) == pytest.approx(math.sqrt((0.0011**2 + 0.0006**2) / 2))
    assert _u(budget, DAY) == pytest.approx(math.sqrt(1.5e-6))
    assert _u(budget, DRIFT) == pytest.approx(math.sqrt((5e-6 - 2e-6) / 3))
    assert _u(budget, RESOLUTION) == pytest.approx(0.0001 / math.sqrt(12))
    assert budget.s_r == pytest.approx(math.sqrt(2.0e-6))
    # 0.65 q/(R T^2) with q = 10 kJ/mol/sqrt(3), T = 298.15 K: 0.0050776 per K
    assert _u(budget, TEMPERATURE) == pytest.approx(0.1 * 0.0050776, rel=1e-4)
    squares = [_u(budget, name) ** 2 for name in (BIAS, REFERENCE, DAY, DRIFT, TEMPERATURE, RESOLUTION)]
    assert budget.u_other == pytest.approx(math.sqrt(sum(squares)))
    assert budget.u(2) == pytest.approx(math.sqrt(sum(squares) + 1.0e-6))
    assert budget.references == ("Mg(NO3)2", "NaCl")
    # the day's degrees of freedom (Satterthwaite): 1.5e-6^2/(2.5e-6^2/8 + 1.0e-6^2/4)
    day = next(part.component for part in budget.parts if part.component.name == DAY)
    assert day.dof == pytest.approx(1.5**2 / (2.5**2 / 8 + 1.0 / 4))


def test_the_references_of_one_check_against_each_other_as_an_independent_library_says() -> None:
    """Two-way layout of checks and solutions, one reading a cell: the residual mean square."""
    rng = np.random.default_rng(3)
    rows = [tuple(rng.normal(0, 0.001, 2)) for _ in range(12)]
    checked = _checked(rows)
    frame = {
        "d": [r.deviation for r in checked],
        "check": [r.check for r in checked],
        "solution": [r.solution for r in checked],
    }
    table = anova_lm(ols("d ~ C(check) + C(solution)", pd.DataFrame(frame)).fit())
    found = within_checks(checked)
    assert found.value == pytest.approx(table.loc["Residual", "mean_sq"], rel=1e-9)
    assert found.dof == table.loc["Residual", "df"]


def _laboratory(seed: int, days: int, bias: float, s_day: float, s: float, s_r: float, within_day: float) -> OwnData:
    """A laboratory with a known truth: bias, day to day, repeatability of checks and of portions, drift in the day."""
    rng = np.random.default_rng(seed)
    rows, closing = [], []
    for _ in range(days):
        day, change = rng.normal(0, s_day), rng.normal(0, within_day)
        pair = tuple(bias + day + rng.normal(0, s) for _ in REFERENCES)
        rows.append(pair)
        closing += [bias + day + change + rng.normal(0, s) - one for one in pair]
    portions = tuple(tuple(0.63 + rng.normal(0, s_r) for _ in range(2)) for _ in range(days))
    offsets = tuple(rng.normal(0, 0.08, days))
    return _data(rows, portions=portions, closing=tuple(closing), block_offset_k=offsets)


TRUTH = {"bias": 0.0010, "s_day": 0.0012, "s": 0.0008, "s_r": 0.0020, "within_day": 0.0010}


def test_the_budget_agrees_with_monte_carlo_within_2_per_cent() -> None:
    """JCGM 101 on the same model, its distributions by 6.4: t for what was estimated, rectangular for a step."""
    budget = living_budget(_laboratory(1, 90, **TRUTH))
    assert not budget.missing
    by = {part.component.name: part.component for part in budget.parts}
    n = 2

    def of_t(name: str) -> StudentT:
        return StudentT(0.0, by[name].u, by[name].dof)

    kelvin = 298.15
    block = by[TEMPERATURE].u / (HIGH * HEAT_OF_SORPTION_J_MOL / math.sqrt(3) / (8.314462618 * kelvin**2))
    inputs = [
        Normal(0.0, by[REFERENCE].u),
        of_t(BIAS),
        of_t(DAY),
        StudentT(0.0, by[DRIFT].u * math.sqrt(3), by[DRIFT].dof),  # the change over the whole day
        Rectangular(0.0, 1.0),  # when in the day a sample is read
        Rectangular(0.0, HEAT_OF_SORPTION_J_MOL),
        StudentT(0.0, block, by[TEMPERATURE].dof),
        Rectangular(-0.00005, 0.00005),
        *[StudentT(0.0, budget.s_r, budget.repeatability.dof)] * n,
    ]

    def model(ref: Any, bias: Any, day: Any, change: Any, when: Any, q: Any, off: Any, step: Any, *portion: Any) -> Any:
        return (
            0.63
            + ref
            + bias
            + day
            + change * when
            + HIGH * q / (8.314462618 * kelvin**2) * off
            + step
            + sum(portion) / n
        )

    found = simulate(model, inputs, 1_000_000)
    assert budget.u(n) == pytest.approx(found.u, rel=0.02)


def test_the_budget_finds_the_scatter_of_a_laboratory_whose_truth_is_known() -> None:
    """The mean over laboratories of u^2, against the errors that results of such a laboratory have."""
    found = [living_budget(_laboratory(seed, 60, **TRUTH)) for seed in range(200)]
    rng = np.random.default_rng(7)
    trials = 400_000
    errors = (
        TRUTH["bias"]
        + rng.normal(0, TRUTH["s_day"], trials)
        + rng.normal(0, TRUTH["within_day"], trials) * rng.uniform(0, 1, trials)
        + rng.normal(0, TRUTH["s_r"] / math.sqrt(2), trials)
        + HIGH
        * rng.uniform(0, HEAT_OF_SORPTION_J_MOL, trials)
        / (8.314462618 * 298.15**2)
        * rng.normal(0, 0.08, trials)
    )
    reference = (0.0011**2 + 0.0006**2) / 2
    truth = math.sqrt(float(np.mean(errors**2)) + reference)
    mean = math.sqrt(np.mean([one.u(2) ** 2 for one in found]))
    assert mean == pytest.approx(truth, rel=0.02)


def test_repeatability_is_not_counted_twice() -> None:
    """Checks scatter by repeatability alone: nothing is left for the day, on average, and u is that of the truth."""
    still = {"bias": 0.0, "s_day": 0.0, "s": 0.002, "s_r": 0.002, "within_day": 0.0}
    found = [living_budget(_laboratory(seed, 60, **still)) for seed in range(100)]
    days = np.mean([_u(one, DAY) ** 2 for one in found])
    # what chance leaves above zero in 60 checks, not the whole 0.002^2 that the checks scatter by
    assert days < 0.15 * 0.002**2
    truth = 0.002**2 / 2 + (0.0011**2 + 0.0006**2) / 2 + (0.0050776 * 0.08) ** 2
    mean = np.mean([one.u(2) ** 2 for one in found])
    assert 1.0 < math.sqrt(mean / truth) < 1.20
    twice = truth + 0.002**2
    assert math.sqrt(twice / truth) > 1.5


def test_repeats_within_a_check_are_what_is_taken_out_once_there_are_enough() -> None:
    rows = [(0.001 * (-1) ** k, 0.001 * (-1) ** k) for k in range(12)]
    repeats = tuple((0.0, 0.0004) for _ in range(8))
    with_repeats = living_budget(_data(rows, portions=PAIRS, repeats=repeats))
    part = next(part for part in with_repeats.parts if part.component.name == DAY)
    scatter = 12e-6 / 11
    assert part.component.u == pytest.approx(math.sqrt(scatter - 0.0004**2 / 2))
    assert "read twice in one check" in part.found


def test_one_lucky_closing_reading_does_not_replace_the_line_of_twelve_checks() -> None:
    rows = [(0.0002 * day, 0.0002 * day) for day in range(12)]
    few, none = (living_budget(_data(rows, portions=PAIRS, closing=closing)) for closing in ((0.0001,), ()))
    assert _u(few, DRIFT) == _u(none, DRIFT) > 0.0


def test_without_closing_checks_the_line_through_the_opening_ones_says_the_drift() -> None:
    rows = [(0.0001 * day, 0.0001 * day) for day in range(12)]
    part = next(part for part in living_budget(_data(rows, portions=PAIRS)).parts if part.component.name == DRIFT)
    assert part.component.u == pytest.approx(0.0001 / math.sqrt(3))
    assert "no closing checks" in part.found


def test_what_is_enough_is_a_standard_deviation_known_to_a_quarter() -> None:
    """JCGM 100, E.4.3: relative standard deviation of s is 1/sqrt(2 nu); from chi as a check of the rule of thumb."""
    nu = 8
    mean = math.sqrt(2 / nu) * math.gamma((nu + 1) / 2) / math.gamma(nu / 2)
    assert math.sqrt(1 - mean**2) / mean == pytest.approx(0.25, abs=0.01)
    rows = [(0.001, -0.001), (0.003, 0.001)]
    nine = [*rows * 4, rows[0]]
    assert living_budget(_data(nine, portions=PAIRS)).missing == ()
    (few,) = living_budget(_data(nine[:8], portions=PAIRS)).missing
    assert few.startswith("8 opening checks, 9 needed")
    (pairs,) = living_budget(_data(nine, portions=PAIRS[:7])).missing
    assert pairs.startswith("7 degrees of freedom")
    assert living_budget(_data(nine, portions=PAIRS[:7])).basis == "collaborative study"


def test_a_range_without_references_around_it_has_no_budget_of_its_own() -> None:
    rows = [(0.001, -0.001), (0.003, 0.001)] * 5
    beyond = OwnData(_checked(rows), 0.80, 0.85, 25.0, portions=PAIRS)
    (why,) = living_budget(beyond).missing
    assert "above the range" in why
    assert living_budget(OwnData((), 0.6, 0.65, 25.0)).missing[0].startswith("No reference solution below")


def test_portions_that_all_read_the_same_are_no_repeatability() -> None:
    rows = [(0.001, -0.001), (0.003, 0.001)] * 5
    same = living_budget(_data(rows, portions=((0.63, 0.63),) * 12))
    assert same.missing == (
        "All replicate portions read the same: their repeatability cannot be seen at this resolution.",
    )


def test_the_cross_check_from_above() -> None:
    rows = [(0.001, -0.001), (0.003, 0.001)] * 5
    (usual,) = living_budget(_data(rows, portions=PAIRS)).cautions
    assert "smaller, as within one laboratory" in usual
    wild = [(0.03 * (-1) ** k, 0.03 * (-1) ** k) for k in range(10)]
    (too_large,) = living_budget(_data(wild, portions=PAIRS)).cautions
    assert "larger than what laboratories differ by" in too_large


def test_degrees_of_freedom_are_welch_and_satterthwaite() -> None:
    budget = living_budget(_laboratory(1, 20, **TRUTH))
    parts = [(p.component.u, p.component.dof) for p in budget.parts if p.component.u > 0]
    parts.append((budget.s_r / math.sqrt(2), budget.repeatability.dof))
    u = math.hypot(*(one for one, _ in parts))
    assert budget.dof(2) == pytest.approx(u**4 / sum(one**4 / dof for one, dof in parts))
    assert stats.t.ppf(0.975, budget.dof(2)) > 1.96


def test_impossible_data_are_refused() -> None:
    with pytest.raises(InputError, match="range"):
        OwnData((), 0.7, 0.6, 25.0)
    with pytest.raises(InputError, match="resolution"):
        OwnData((), 0.6, 0.7, 25.0, resolution=0.0)


def test_a_sample_whose_portions_differ_far_more_is_told() -> None:
    """0.618 typed for 0.681: C = 0.061^2/(0.061^2 + 10 x 0.002^2) = 0.989; 0.684 at 1 % (ISO 5725-2, table 4)."""
    rows = [(0.001, -0.001), (0.003, 0.001)] * 5
    told = living_budget(_data(rows, portions=(*PAIRS, (0.618, 0.679)))).cautions[0]
    assert told.startswith("One sample's portions read 0.618, 0.679")
    assert "Cochran 0.99 against 0.68" in told
    assert not any("Cochran" in one for one in living_budget(_data(rows, portions=PAIRS)).cautions)
