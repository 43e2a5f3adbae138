"""What an isotherm model is: its equation, its parameters with their admissible ranges, and how it is fitted.

A model's file in `models/` holds its kernels beside one `Model`:

    features(a, t, g)          the parts of the equation that no parameter changes, rows of g over the points
    basis(g, theta, phi, dphi) the functions phi_j whose sum c_1 phi_1 + ... is the moisture, and d phi_j/d theta_k
    natural(c, theta, p, dp)   the parameters as printed, and their derivatives by (c, theta)
    curve(a, t, p, out)        moisture, its slope in a_w, its derivatives by the printed parameters
    part(g, h, place, row)     where a coordinate alone makes a part of the functions: that part, for the search's grid
    inverse(x, t, p)           the a_w of a moisture in closed form, or nan where there is none

A sum of functions with linear coefficients c lets the solver eliminate c exactly and search theta only.
"""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass, field


@dataclass(frozen=True, slots=True)
class Parameter:
    """One parameter: key, unit, meaning and admissible range (ends excluded where `open_low` says so)."""

    name: str
    unit: str
    meaning: str
    low: float = -math.inf
    high: float = math.inf
    open_low: bool = False


@dataclass(frozen=True, slots=True)
class Model:
    """One isotherm model; moisture is kg of water per kg of dry solids unless a parameter's unit says otherwise."""

    name: str  # as people print it: "GAB"
    key: str  # as the command line takes it: "gab"; also the name of its file
    equation: str
    parameters: tuple[Parameter, ...]
    valid_a_w: tuple[float, float]  # points outside it are not used in its fit, nor is it drawn there
    source: str
    where: str
    verified: str  # "text" or "memory"
    linear: int  # how many linear coefficients
    features: int  # how many feature rows
    theta_low: tuple[float, ...] = ()  # the admissible box of the nonlinear coordinates
    theta_high: tuple[float, ...] = ()
    theta_wide_low: tuple[
        float, ...
    ] = ()  # the box of the optimum without the admissible range (the same, where empty)
    theta_wide_high: tuple[float, ...] = ()
    scales_a_w: str = ""  # the parameter that only multiplies a_w: the wide search stretches a_w up to 0.9 and divides
    positive: tuple[bool, ...] = ()  # which linear coefficients may not be negative
    axes: tuple[tuple[float, ...], ...] = ()  # the grid the search begins on: its places along each coordinate, rising
    followed: int = 3  # how many valleys of the grid are followed at most, the most promising first
    every: bool = False  # whether starts are followed too that are no valleys of the grid, because it is coarse
    parts: str = ""  # where `part` is given: "sum" for one function, the sum of two parts, or "two" for two functions
    needs_temperature: bool = False
    worked: tuple[tuple[float, ...], float, float] | None = None  # parameters, a_w, moisture printed at the source
    worked_where: str = ""
    notes: tuple[str, ...] = field(default=())

    @property
    def nonlinear(self) -> int:
        """How many nonlinear coordinates the search has."""
        return len(self.theta_low)

    @property
    def starts(self) -> tuple[tuple[float, ...], ...]:
        """The places of the grid, the last coordinate running first."""
        return tuple(itertools.product(*self.axes))

    @property
    def names(self) -> tuple[str, ...]:
        """The parameters' keys in their order."""
        return tuple(each.name for each in self.parameters)
