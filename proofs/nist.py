"""The certified nonlinear problems of NIST, solved by the solver of every isotherm fit, digit for digit.

python -m proofs.nist [--report docs/proof/nist.md]
"""

from __future__ import annotations

import argparse
import platform
import sys
from collections.abc import Sequence
from datetime import UTC, datetime
from pathlib import Path

import numba
import numpy as np
from tests.product.sorption.nist.forms import FORMS
from tests.product.sorption.nist.solved import (
    DEVIATION_DIGITS,
    EXACT_RESIDUALS,
    PARAMETER_DIGITS,
    SUM_DIGITS,
    Solved,
    every_problem,
)

from isohume.version import __version__

REPORT = Path(__file__).parents[1] / "docs" / "proof" / "nist.md"

PUT = (
    "Every model is split into linear coefficients, which the solver works out exactly at each step, and nonlinear "
    "coordinates, which it searches. Of a start only the nonlinear coordinates are used; what it says of the linear "
    "coefficients is not. Most problems become easier so; Eckerle4 from start 1, whose peak stands where no data are "
    "high, becomes harder.",
    "MGH10 is put against its value at x = 85. The bare exponential passes 1e153 on the way from start 1; its square "
    "leaves the range of doubles, and the search may stop there, short of the optimum. It then says so.",
    "Eckerle4 is searched in the two coefficients of the parabola that is the logarithm of its peak. In centre and "
    "width themselves the search from start 1 runs off to a flat curve and does not arrive. It says so.",
    f"{', '.join(EXACT_RESIDUALS)}: the residuals are 1e-13 of the data, of which doubles hold two or three digits. "
    "The parameters are the solver's. For the sum of squares, and the standard deviations that follow from it, the "
    "residuals at the solver's optimum are worked out again in 40 decimal digits, less their part along the tangents.",
    "Rat43: the file prints 9 degrees of freedom, where 15 points less 4 parameters are 11. The printed residual "
    "standard deviation is that of 11, which is used.",
)


def figures(one: Solved) -> tuple[float, float, float]:
    """Digits of the parameters, of their standard deviations and of the sum of squares."""
    return one.parameter_digits, one.deviation_digits, one.sum_digits


def line_of(first: Solved, second: Solved) -> str:
    """One problem's line of the table: both starts side by side."""
    problem, form = first.problem, FORMS[first.problem.name]
    size = f"{problem.y.size} | {form.linear} + {form.nonlinear}"
    pairs = [
        f"{one.steps} | " + " | ".join(f"{each:.1f}" for each in figures(one)) + ("" if one.holds else " short")
        for one in (first, second)
    ]
    return f"| {problem.name} | {problem.difficulty.lower()} | {form.text} | {size} | {' | '.join(pairs)} |"


def table(found: Sequence[Solved]) -> list[str]:
    """The digits of every problem, in Markdown."""
    return [
        "| problem | difficulty | separable form | points | linear + nonlinear "
        "| steps, start 1 | parameters | deviations | sum | steps, start 2 | parameters | deviations | sum |",
        "|---|---|---|---|---|---|---|---|---|---|---|---|---|",
        *(line_of(first, second) for first, second in zip(found[::2], found[1::2], strict=True)),
    ]


def report(found: Sequence[Solved]) -> str:
    """The page for docs/proof."""
    short = sum(not one.holds for one in found)
    least = [min(digits) for digits in zip(*map(figures, found), strict=True)]
    lines = [
        "# The certified nonlinear problems of NIST",
        "",
        f"{datetime.now(UTC):%Y-%m-%d}, isohume {__version__}, Python {platform.python_version()}, numpy "
        f"{np.__version__}, numba {numba.__version__}, {platform.machine()}. Again: `python -m proofs.nist`.",
        "",
        f"**{len(found) // 2} problems from both starts: {short} of {len(found)} searches short** of "
        f"{PARAMETER_DIGITS:.0f} digits in every parameter, {DEVIATION_DIGITS:.0f} in every standard deviation and "
        f"{SUM_DIGITS:.0f} in the residual sum of squares. The fewest anywhere: {least[0]:.1f}, {least[1]:.1f} and "
        f"{least[2]:.1f} digits.",
        "",
        "Data, starts and certified values are the files of the Statistical Reference Datasets of the National "
        "Institute of Standards and Technology, section nonlinear regression. Digits are -log10 of the largest "
        "relative difference over the parameters, at most the 11 that are printed. The solver and the inversion behind "
        "the standard deviations are those of every isotherm fit; the solver's outer loop runs uncompiled here, as "
        "each problem brings its own functions. No box holds a coordinate. One set of settings serves all.",
        "",
        *table(found),
        "",
        "How the problems are put:",
        "",
        *(f"- {each}" for each in PUT),
        "",
        "What this does not show: that another start, or other data, leads to the best optimum. The search for a start "
        "is another part of a fit.",
        "",
    ]
    return "\n".join(lines)


def main() -> int:
    """Solve, compare, write the page."""
    parser = argparse.ArgumentParser(description="Solve the certified nonlinear problems of NIST.")
    parser.add_argument("--report", type=Path, default=REPORT, help="the page that is written")
    given = parser.parse_args()
    found = every_problem()
    given.report.parent.mkdir(parents=True, exist_ok=True)
    given.report.write_text(report(found), encoding="utf-8")
    short = sum(not one.holds for one in found)
    print(f"{len(found)} searches, {short} short of the certified values")
    return 1 if short else 0


if __name__ == "__main__":
    sys.exit(main())
