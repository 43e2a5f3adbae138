"""The living uncertainty budget: from the laboratory's own checks, replicates, drift and temperatures.

Until there is enough of them the starter budget holds: what laboratories differ by, never the instrument's leaflet.
Nothing is counted twice: the scatter from check to check holds the repeatability of a reading, which is taken out of
it; the repeatability of portions is kept apart as s_r, divided by their number where a value is stated.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from isohume.bench.decision.own_data import (
    Bracket,
    OwnData,
    Variance,
    between_checks,
    bracket_of,
    line_of_checks,
    pooled_variance,
    within_checks,
)
from isohume.foundation.metrology.budget import Component, combine
from isohume.foundation.metrology.precision_experiment import cochran

ENOUGH_DOF = 8
"""A standard deviation of eight degrees of freedom is known to a quarter: 1/sqrt(2 x 8) (JCGM 100, E.4.3)."""
STARTER_S_R = (0.008, 0.010)
"""Reproducibility of published collaborative studies of a_w."""
HEAT_OF_SORPTION_J_MOL = 10_000.0
"""The usual upper end of a food's net heat of sorption, 0 to 10 kJ/mol (no source); any value up to it is as likely."""
GAS_CONSTANT = 8.314462618
ZERO_C = 273.15

Basis = Literal["own data", "collaborative study"]
BIAS, REFERENCE, DAY = "bias of the checks, not corrected for", "references", "day to day"
DRIFT, TEMPERATURE, RESOLUTION = "drift within the day", "block temperature", "resolution"


@dataclass(frozen=True, slots=True)
class Part:
    """A component of the proposed budget with where it comes from."""

    component: Component
    formula: str
    found: str


@dataclass(frozen=True, slots=True)
class LivingBudget:
    """What is proposed: components, u_other and s_r with their degrees of freedom, and whether data are enough."""

    parts: tuple[Part, ...]
    u_other: float
    dof_other: float
    repeatability: Variance
    missing: tuple[str, ...]
    cautions: tuple[str, ...]
    references: tuple[str, ...]
    checks: int

    @property
    def basis(self) -> Basis:
        """Own data once there are enough of them."""
        return "collaborative study" if self.missing else "own data"

    @property
    def s_r(self) -> float:
        """The repeatability of one portion."""
        return self.repeatability.s

    def u(self, portions: int = 1) -> float:
        """The standard uncertainty of the mean of some portions."""
        return math.sqrt(self.u_other**2 + self.repeatability.value / portions)

    def dof(self, portions: int = 1) -> float:
        """Its effective degrees of freedom (Welch and Satterthwaite)."""
        parts = [part.component for part in self.parts if part.component.u > 0.0]
        mean = Component("repeatability", self.s_r / math.sqrt(portions), dof=max(self.repeatability.dof, 1.0))
        return combine([*parts, mean]).effective_dof


def living_budget(data: OwnData) -> LivingBudget:
    """The uncertainty budget of one instrument in one range, from the laboratory's own data.

        u_other^2 = bias^2 + u_ref^2 + s_day^2 + u_drift^2 + u_T^2 + u_res^2;  u^2 = u_other^2 + s_r^2/n
    data: opening checks, closing checks, replicate portions and temperatures [1, K].
    Returns: the LivingBudget [1]; `missing` says what is not enough yet, the starter budget then holds.
    Raises: InputError for a range or resolution that is not allowed.
    Example: bias 0.0005 in both references, their u 0.0012, s_day 0.0006, resolution 0.0001: u_other 0.0014.
    Source: JCGM100, 5.1, E.4.3, F.2.4.5 and G.4.1; ISO21748, 7.1 for the starter budget.
    """
    bracket = bracket_of(data.checked, data.low, data.high)
    repeatability = pooled_variance(data.portions)
    reading, how_reading = _reading(data, repeatability)
    parts = (
        _bias(bracket),
        _reference(bracket),
        _day(bracket, reading, how_reading),
        _drift(data, bracket, reading),
        _temperature(data),
        _resolution(data),
    )
    shown = [part.component for part in parts if part.component.u > 0.0]
    together = combine(shown)
    missing = tuple(_missing(bracket, repeatability))
    return LivingBudget(
        parts=parts,
        u_other=together.combined_u,
        dof_other=together.effective_dof,
        repeatability=repeatability,
        missing=missing,
        cautions=(*_apart(data.portions), *_cautions(math.hypot(together.combined_u, repeatability.s))),
        references=bracket.solutions,
        checks=bracket.checks,
    )


def _part(name: str, u: float, dof: float, formula: str, found: str) -> Part:
    return Part(Component(name, u, dof=max(dof, 1.0), source=f"{formula}; {found}"), formula, found)


def _bias(bracket: Bracket) -> Part:
    """A mean deviation that nobody corrects stays in every result: it counts in full."""
    means = list(bracket.means.values())
    u = math.sqrt(math.fsum(b * b for b in means) / len(means)) if means else 0.0
    found = ", ".join(f"{solution} {bracket.means[solution]:+.4f}" for solution in bracket.solutions)
    dof = len(bracket.rows) - len(means)
    return _part(BIAS, u, dof, "root mean square of the mean deviations", found or "no opening check")


def _reference(bracket: Bracket) -> Part:
    last = {row.solution: row.u_reference for row in bracket.rows}
    u = math.sqrt(math.fsum(one * one for one in last.values()) / len(last)) if last else 0.0
    found = ", ".join(f"{solution} u {last[solution]:.4f}" for solution in bracket.solutions)
    return _part(REFERENCE, u, math.inf, "root mean square of the references' own u", found or "no opening check")


def _reading(data: OwnData, repeatability: Variance) -> tuple[Variance, str]:
    """The repeatability of one reading of a reference; of what only bounds it from above, the smaller."""
    repeats = pooled_variance(data.repeats)
    if repeats.dof >= ENOUGH_DOF:
        return repeats, "reference read twice in one check"
    bounds = [
        (found, words)
        for found, words in (
            (within_checks(data.checked), "references of one check against each other"),
            (repeatability, "replicate portions"),
        )
        if found.dof >= 1
    ]
    return min(bounds, key=lambda pair: pair[0].value, default=(Variance(0.0, 0), "not known, nothing taken out"))


def _day(bracket: Bracket, reading: Variance, how_reading: str) -> Part:
    """What is left of the scatter from check to check once the repeatability of its readings is taken out."""
    whole = between_checks(bracket)
    share = math.fsum(1.0 / row.n for row in bracket.rows) / len(bracket.rows) if bracket.rows else 1.0
    taken = reading.value * share
    left = max(0.0, whole.value - taken)
    limiting = sum(v * v / d for v, d in ((whole.value, whole.dof), (taken, reading.dof)) if d >= 1)
    dof = left * left / limiting if limiting > 0 else 1.0
    formula = "sqrt(scatter from check to check squared - repeatability of its readings squared)"
    found = f"{whole.s:.4f} in {bracket.checks} opening checks, {math.sqrt(taken):.4f} taken out ({how_reading})"
    return _part(DAY, math.sqrt(left), dof, formula, found)


def _drift(data: OwnData, bracket: Bracket, reading: Variance) -> Part:
    """Between the opening check and a reading: from closing checks, or from the line through the opening ones."""
    if len(data.closing) >= ENOUGH_DOF or (data.closing and line_of_checks(bracket) is None):
        mean_square = math.fsum(d * d for d in data.closing) / len(data.closing)
        change = max(0.0, mean_square - 2.0 * reading.value)
        found = f"{len(data.closing)} closing readings, root mean square {math.sqrt(mean_square):.4f}"
        formula = "sqrt((closing - opening)^2 - repeatability of both) / sqrt(3)"
        return _part(DRIFT, math.sqrt(change / 3.0), len(data.closing), formula, found)
    line = line_of_checks(bracket)
    if line is None:
        return _part(
            DRIFT, 0.0, 1, "slope * hours a check protects / sqrt(3)", "not known: no closing check, few others"
        )
    u = abs(line.slope) * data.check_interval_h / 24.0 / math.sqrt(3.0)
    found = f"no closing checks; slope {line.slope:+.6f} a day, {data.check_interval_h:g} h"
    return _part(DRIFT, u, line.dof, "slope * hours a check protects / sqrt(3)", found)


def _temperature(data: OwnData) -> Part:
    """The block is not at the method's temperature; a_w of a food changes with its heat of sorption."""
    a_w = data.high
    kelvin = data.temperature_c + ZERO_C
    per_k = a_w * HEAT_OF_SORPTION_J_MOL / math.sqrt(3.0) / (GAS_CONSTANT * kelvin * kelvin)
    offsets = data.block_offset_k
    if offsets:
        off = math.sqrt(math.fsum(t * t for t in offsets) / len(offsets))
        found = f"{len(offsets)} runs, block off by {off:.3f} K (root mean square)"
    else:
        off = data.block_tolerance_k / math.sqrt(3.0)
        found = f"no block temperature on record: the method's tolerance {data.block_tolerance_k:g} K / sqrt(3)"
    formula = f"{per_k:.5f} per K: a_w q/(R T^2), a_w {a_w:g}, q anywhere from 0 to 10 kJ/mol (no source)"
    return _part(TEMPERATURE, per_k * off, len(offsets) or math.inf, formula, found)


def _resolution(data: OwnData) -> Part:
    u = data.resolution / math.sqrt(12.0)
    return _part(RESOLUTION, u, math.inf, "step / sqrt(12)", f"readings are kept to {data.resolution:g}")


def too_few_checks(bracket: Bracket) -> bool:
    """Whether the scatter from check to check is not known to a quarter yet.

    bracket: the references that stand for the range, with their checks [1].
    Returns: whether checks or their degrees of freedom are fewer than that needs [text].
    Source: JCGM100, E.4.3.
    """
    return between_checks(bracket).dof < ENOUGH_DOF or bracket.checks <= ENOUGH_DOF


def _missing(bracket: Bracket, repeatability: Variance) -> list[str]:
    """What is not there yet for a budget of one's own; nothing where it is enough."""
    found = []
    if not (bracket.below and bracket.above):
        side = "below" if not bracket.below else "above"
        found.append(f"No reference solution {side} the range of the products is in the opening checks.")
    if too_few_checks(bracket):
        found.append(
            f"{bracket.checks} opening checks, {ENOUGH_DOF + 1} needed before their scatter is known to a quarter."
        )
    if repeatability.dof < ENOUGH_DOF:
        found.append(
            f"{repeatability.dof:g} degrees of freedom of replicate portions, {ENOUGH_DOF} needed (as many duplicates)."
        )
    elif repeatability.value == 0.0:
        found.append("All replicate portions read the same: their repeatability cannot be seen at this resolution.")
    return found


def _cautions(u_single: float) -> list[str]:
    """The cross-check from above: what laboratories differ by when they measure the same food."""
    low, high = STARTER_S_R
    against = f"u of one portion is {u_single:.4f}, published reproducibility s_R {low:.3f} to {high:.3f}"
    if u_single > high:
        return [f"{against}: larger than what laboratories differ by. Find out why before it is adopted."]
    if u_single < low:
        return [
            f"{against}: smaller, as within one laboratory it should be. Checks on salts do not show what a food does "
            "to a sensor: a control product, a proficiency round or a second principle does."
        ]
    return [f"{against}: of the same size."]


def _apart(portions: Sequence[tuple[float, ...]]) -> list[str]:
    """A sample whose portions differ by far more than all others do; it is told, and not left out."""
    if not portions:
        return []
    n, _ = Counter(map(len, portions)).most_common(1)[0]
    groups = [group for group in portions if len(group) == n]
    scatter = [pooled_variance([group]).s for group in groups]
    if len(groups) < 2 or not any(scatter):
        return []
    hint = cochran(scatter, n, 0.01)
    if not hint.lies_apart:
        return []
    read = ", ".join(f"{x:g}" for x in groups[hint.position])
    held = f"Cochran {hint.statistic:.2f} against {hint.critical:.2f} at 1 %"
    return [
        f"One sample's portions read {read}: they differ far more than all others ({held}). It is in s_r: find out why "
        "before the budget is adopted."
    ]
