"""An uncertainty budget: named components, what each contributes, and the expanded uncertainty.

The components are independent of each other; correlated inputs go through `propagate` or `Measured`.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

from isohume.foundation.metrology.student import student_quantile
from isohume.foundation.quantity.errors import InputError, RangeError


@dataclass(frozen=True, slots=True)
class Component:
    """One line of a budget: a named standard uncertainty and how strongly the result feels it."""

    name: str
    u: float
    sensitivity: float = 1.0
    dof: float = math.inf
    source: str = ""

    def __post_init__(self) -> None:
        if not 0.0 <= self.u < math.inf:
            raise InputError(f"u of {self.name}", self.u, "a finite standard uncertainty of zero or more")
        if not math.isfinite(self.sensitivity):
            raise InputError(f"sensitivity of {self.name}", self.sensitivity, "a finite number")
        if not self.dof >= 1.0:
            raise RangeError(f"dof of {self.name}", self.dof, 1.0, math.inf, why="degrees of freedom")

    @property
    def contribution(self) -> float:
        """What the component adds to the result, as a standard uncertainty in the result's unit."""
        return abs(self.sensitivity) * self.u


@dataclass(frozen=True, slots=True)
class Budget:
    """The components of one result, combined."""

    components: tuple[Component, ...]

    @property
    def combined_u(self) -> float:
        """The combined standard uncertainty: the root of the sum of squares."""
        return math.hypot(*(component.contribution for component in self.components))

    @property
    def effective_dof(self) -> float:
        """The effective degrees of freedom (Welch and Satterthwaite), infinite where every one is."""
        return welch_satterthwaite([(c.contribution, c.dof) for c in self.components])

    @property
    def shares(self) -> tuple[float, ...]:
        """Each component's share of the combined variance; they add up to 1."""
        total = self.combined_u
        return tuple((component.contribution / total) ** 2 for component in self.components)

    def coverage_factor(self, probability: float = 0.95) -> float:
        """The coverage factor k for a two-sided probability, from t with the truncated effective dof."""
        return coverage_factor(probability, self.effective_dof)

    def expanded_u(self, probability: float = 0.95) -> float:
        """The expanded uncertainty U = k u for a two-sided coverage probability."""
        return self.coverage_factor(probability) * self.combined_u


def combine(components: Iterable[Component]) -> Budget:
    """Independent components combined into a budget.

        u_c^2 = sum((c_i u_i)^2);  nu_eff = u_c^4 / sum((c_i u_i)^4/nu_i)
    components: the lines of the budget [unit of the result after sensitivity], at least one above zero.
    Returns: the Budget.
    Raises: InputError for no component, a name used twice, or nothing but zeros.
    Example: the end-gauge budget of the source gives u_c = 32 nm, nu_eff = 16.
    Source: JCGM100, 5.1.2 and G.4.1.
    """
    lines = tuple(components)
    names = [line.name for line in lines]
    twice = sorted({name for name in names if names.count(name) > 1})
    if twice:
        raise InputError("components", twice[0], "every name once; a component counted twice inflates u")
    if not any(line.contribution > 0.0 for line in lines):
        raise InputError("components", "nothing above zero", "at least one uncertainty greater than zero")
    return Budget(lines)


def welch_satterthwaite(contributions: Iterable[tuple[float, float]]) -> float:
    """The effective degrees of freedom of independent contributions.

        nu_eff = (sum u_i^2)^2 / sum(u_i^4/nu_i)
    contributions: pairs of standard uncertainty [unit of the result] and degrees of freedom [1].
    Returns: effective degrees of freedom [1], not truncated; infinity where no contribution limits it.
    Raises: RangeError for degrees of freedom below 1.
    Example: f([(25, 18), (9.7, 25.6), (2.9, 50), (16.6, 2)]) = 16.7 (end-gauge example).
    Source: JCGM100, G.4.1, eq. G.2b.
    """
    squares = [(u * u, dof) for u, dof in contributions]
    for _, dof in squares:
        if not dof >= 1.0:
            raise RangeError("dof", dof, 1.0, math.inf, why="degrees of freedom")
    total = math.fsum(square for square, _ in squares)
    if total == 0.0:
        return math.inf
    limiting = math.fsum((square / total) ** 2 / dof for square, dof in squares)
    return 1.0 / limiting if limiting > 0.0 else math.inf


def coverage_factor(probability: float, dof: float = math.inf) -> float:
    """The coverage factor of a two-sided interval.

        k = t quantile at (1 + probability)/2, dof truncated to the next lower integer
    probability: coverage probability [1], above 0 and below 1.
    dof: effective degrees of freedom [1], 1 or more, infinity for the normal distribution.
    Returns: coverage factor k [1].
    Raises: RangeError for a probability at 0 or 1, or dof below 1.
    Example: f(0.99, 16.7) = 2.92; f(0.95) = 1.96.
    Source: JCGM100, G.4 and G.6.4.
    """
    if not 0.0 < probability < 1.0:
        raise RangeError("probability", probability, 0.0, 1.0, why="both ends excluded")
    # a dof that is an integer but for the last bits of a sum must not lose a whole degree
    whole = dof if math.isinf(dof) else float(math.floor(dof * (1.0 + 1e-12)))
    return student_quantile(0.5 * (1.0 + probability), whole)
