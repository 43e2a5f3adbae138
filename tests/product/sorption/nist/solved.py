"""A problem of NIST solved by the solver of every fit in isohume, and how many digits agree with the certified ones."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from decimal import Decimal, localcontext
from typing import Any

import numpy as np
from tests.product.sorption.nist.certified import PROBLEMS, Certified
from tests.product.sorption.nist.forms import FORMS, Array, Form

from isohume.product.sorption.kernels.covariance import invert_information
from isohume.product.sorption.kernels.layout import COEFFICIENT, MARKS, SMALL_ROWS, WIDTH, G, S, Y, row_count, rows_of
from isohume.product.sorption.kernels.separable import ALIKE, CONVERGED, solver_for

MOST = 1000  # steps
PARAMETER_DIGITS, DEVIATION_DIGITS, SUM_DIGITS = 6.0, 5.0, 9.0  # that must agree
PRINTED_DIGITS = 11.0  # NIST prints no more; agreement beyond them cannot be seen


@dataclass(frozen=True)
class Solved:
    """One problem from one start; digits are the worst over the parameters."""

    problem: Certified
    start: int  # 1 or 2, as NIST numbers them
    converged: bool
    steps: int
    parameters: Array
    deviations: Array
    sum_of_squares: float

    @property
    def parameter_digits(self) -> float:
        """Digits to which the worst parameter agrees."""
        return digits(self.parameters, self.problem.parameters)

    @property
    def deviation_digits(self) -> float:
        """Digits to which the worst standard deviation agrees."""
        return digits(self.deviations, self.problem.deviations)

    @property
    def sum_digits(self) -> float:
        """Digits to which the residual sum of squares agrees."""
        return digits(np.array([self.sum_of_squares]), np.array([self.problem.sum_of_squares]))

    @property
    def holds(self) -> bool:
        """Whether the search says that it arrived, and did, to the digits that must agree."""
        return (
            self.converged
            and self.parameter_digits >= PARAMETER_DIGITS
            and self.deviation_digits >= DEVIATION_DIGITS
            and self.sum_digits >= SUM_DIGITS
        )


def digits(found: Array, certified: Array) -> float:
    """-log10 of the largest relative difference, at most the digits that are printed; 0 where it is no number."""
    apart = float(np.max(np.abs(found - certified) / np.abs(certified)))
    if not apart < 1.0:  # nan too
        return 0.0
    return min(PRINTED_DIGITS, -math.log10(apart)) if apart > 0.0 else PRINTED_DIGITS


def _solver_of(form: Form) -> Callable[..., Any]:
    """The product's solver with this form's functions; its outer loop as plain Python, its helpers compiled."""

    def problem(_k: int, g: Array, theta: Array, rows: Array) -> None:
        form.basis(g, theta, rows)

    solver: Callable[..., Any] = solver_for(problem, int(form.offset), compiled=lambda function: function)  # type: ignore[no-untyped-call]
    return solver


def solved(problem: Certified, start: int, form: Form | None = None) -> Solved:
    """Solves from a start of NIST: its nonlinear coordinates are taken, its linear coefficients are not needed."""
    form = form or FORMS[problem.name]
    p, q, m, n = form.linear, form.nonlinear, problem.x.shape[0], problem.y.size
    w = np.zeros((row_count(m, p, q, int(form.offset)), n))
    phi, *_, direct, _damped = rows_of(m, p, q, int(form.offset))
    w[Y], w[S], w[G:phi] = problem.y, 1.0, problem.x
    small, marks = np.zeros((SMALL_ROWS, WIDTH)), np.zeros(MARKS, dtype=np.bool_)
    theta = np.ascontiguousarray(form.theta(problem.starts[start - 1]))
    anywhere, no_sign = np.full(q, np.inf), np.zeros(WIDTH, dtype=np.bool_)
    with np.errstate(all="ignore"):
        total, steps, ended = _solver_of(form)(
            0, w, m, theta, -anywhere, anywhere, no_sign, p, marks, small, MOST, ALIKE, np.inf
        )
    parameters, slopes = form.printed(small[COEFFICIENT, :p].copy(), theta)
    rows = [*range(phi, phi + p), *range(direct, direct + q)]
    upper, inverse = np.zeros((p + q, p + q)), np.zeros((p + q, p + q))
    sound = bool(invert_information(w, p, q, phi, direct, np.ones(p + q, dtype=np.bool_), upper, inverse))
    if problem.name in EXACT_RESIDUALS:
        exact = EXACT_RESIDUALS[problem.name](problem, parameters)
        total = exact @ exact - float(np.sum((w[rows] @ exact) ** 2))
    scaled = slopes @ inverse * math.sqrt(total / (n - p - q))
    deviations = np.array([math.hypot(*row) for row in scaled])
    return Solved(problem, start, ended == CONVERGED and sound, int(steps), parameters, deviations, float(total))


def exponentials(problem: Certified, parameters: Array) -> Array:
    """The residuals of a sum of exponentials, worked out in 40 decimal digits from the data as printed."""
    with localcontext() as context:
        context.prec = 40
        b = [Decimal(float(each)) for each in parameters]
        data = zip(map(Decimal, problem.printed_y), map(Decimal, problem.printed_x), strict=True)
        return np.array([float(y - sum(b[i] * (-b[i + 1] * x).exp() for i in (0, 2, 4))) for y, x in data])


# Lanczos1's residuals are 1e-13 of data near 1: doubles leave them two or three digits. There, and only for the sum of
# squares and the standard deviations that follow from it, the residuals at the solver's own optimum are worked out once
# more in more digits, and their part along the tangents, which rounding kept the solver from taking away, is left out.
# The parameters are the solver's.
EXACT_RESIDUALS: dict[str, Callable[[Certified, Array], Array]] = {"Lanczos1": exponentials}


def every_problem() -> list[Solved]:
    """All 27 problems, each from both starts."""
    return [solved(problem, start) for problem in PROBLEMS for start in (1, 2)]
