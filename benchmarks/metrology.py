"""Speed of the metrology part against public libraries on the same work: `python benchmarks/metrology.py`.

Every pair of routes runs in this one process, turn and turn about; the ratio is of the medians, and both answers
are compared before any time is printed. Nothing here passes or fails on a time.
"""

from __future__ import annotations

import math
import platform
import statistics
import time
from collections.abc import Callable
from typing import Any

import numpy as np
import scipy
import statsmodels
import statsmodels.api as sm
from scipy import stats
from statsmodels.formula.api import ols
from statsmodels.stats.anova import anova_lm
from statsmodels.tools.numdiff import approx_fprime_cs

from isohume.foundation import metrology as m

TRIALS = 1_000_000
U = [0.0015, 0.0007, 0.002, 0.0003]
VALUES = [0.7545, 0.7530, 1.0014, 0.05]


def corrected(read: Any, expected: Any, slope: Any, mismatch_k: Any) -> Any:
    """A reading corrected by a check, with a temperature mismatch: the model both routes work on."""
    return (read - (read - expected) * 0.5) / slope * np.exp(-0.06 * mismatch_k)


def medians(first: Callable[[], Any], second: Callable[[], Any], rounds: int) -> tuple[float, float]:
    """The median seconds of two routes, called alternately so that a busy machine slows both."""
    times: tuple[list[float], list[float]] = ([], [])
    for _ in range(rounds):
        for route, spent in zip((first, second), times, strict=True):
            started = time.perf_counter()
            route()
            spent.append(time.perf_counter() - started)
    return statistics.median(times[0]), statistics.median(times[1])


def monte_carlo() -> tuple[Callable[[], Any], Callable[[], Any]]:
    """A million trials with value, u, symmetric and shortest interval."""
    inputs = [m.Normal(value, u) for value, u in zip(VALUES, U, strict=True)]

    def plain() -> tuple[float, ...]:
        rng = np.random.default_rng(20250101)
        y = np.sort(corrected(*(rng.normal(v, u, TRIALS) for v, u in zip(VALUES, U, strict=True))))
        q = int(0.95 * TRIALS + 0.5)
        r = (TRIALS - q) // 2
        tightest = int(np.argmin(y[q:] - y[:-q]))
        return (y.mean(), y.std(ddof=1), y[r - 1], y[r + q - 1], y[tightest], y[tightest + q])

    def ours() -> tuple[float, ...]:
        found = m.simulate(corrected, inputs, TRIALS)
        return (found.value, found.u, *found.symmetric, *found.shortest)

    return ours, plain


def propagation() -> tuple[Callable[[], Any], Callable[[], Any]]:
    """One first-order propagation, sensitivities by the complex step in both."""
    covariance = np.diag(np.square(U))

    def plain() -> tuple[float, float]:
        point = np.asarray(VALUES)
        slopes = np.atleast_1d(approx_fprime_cs(point, lambda x: corrected(*x))).ravel()
        return float(corrected(*point)), math.sqrt(float(slopes @ covariance @ slopes))

    def ours() -> tuple[float, float]:
        found = m.propagate(corrected, VALUES, covariance=covariance, derivative="complex step")
        return found.value, found.u

    return ours, plain


def line() -> tuple[Callable[[], Any], Callable[[], Any]]:
    """A weighted line through five references, with its covariance."""
    x, y = [0.113, 0.328, 0.529, 0.753, 0.902], [0.1138, 0.3286, 0.5301, 0.7542, 0.9030]
    u = [0.002, 0.0017, 0.0016, 0.0017, 0.0021]
    weights = 1.0 / np.square(u)

    def plain() -> tuple[float, ...]:
        fit = sm.WLS(y, sm.add_constant(x), weights=weights).fit()
        cov = fit.normalized_cov_params
        return (*fit.params, math.sqrt(cov[0, 0]), math.sqrt(cov[1, 1]), cov[0, 1])

    def ours() -> tuple[float, ...]:
        found = m.weighted_line(x, y, u)
        return (found.offset, found.slope, found.u_offset, found.u_slope, found.covariance)

    return ours, plain


def variance_components() -> tuple[Callable[[], Any], Callable[[], Any]]:
    """s_r and the mean square between 30 days of unequal numbers."""
    import pandas as pd

    rng = np.random.default_rng(3)
    days = [f"day {i}" for i in range(30) for _ in range(2 + i % 4)]
    values = (0.75 + 0.002 * rng.standard_normal(len(days))).tolist()
    frame, labels = pd.DataFrame({"y": values, "day": days}), [(day,) for day in days]

    def plain() -> tuple[float, float]:
        table = anova_lm(ols("y ~ C(day)", frame).fit())
        return float(table["mean_sq"].iloc[0]), math.sqrt(float(table["mean_sq"].iloc[1]))

    def ours() -> tuple[float, float]:
        found = m.nested_components(values, labels, ["day"])
        return found.levels[0].mean_square, found.s_r

    return ours, plain


def conformity() -> tuple[Callable[[], Any], Callable[[], Any]]:
    """A thousand single probabilities of conformity, as a look-back over results asks for them."""
    values = np.linspace(0.83, 0.87, 1000).tolist()

    def plain() -> list[float]:
        return [float(stats.norm.cdf(0.85, value, 0.004)) for value in values]

    def ours() -> list[float]:
        return [m.probability_of_conformity(value, 0.004, upper=0.85) for value in values]

    return ours, plain


def coverage() -> tuple[Callable[[], Any], Callable[[], Any]]:
    """A hundred coverage factors of a budget."""
    dofs = [float(dof) for dof in range(2, 102)]
    return (
        lambda: [m.coverage_factor(0.95, dof) for dof in dofs],
        lambda: [float(stats.t.ppf(0.975, dof)) for dof in dofs],
    )


WORK = [
    ("Monte Carlo, 1,000,000 trials, 4 inputs", "numpy, all trials sorted", monte_carlo, 7, 0.005),
    ("propagation, complex step, 4 inputs", "statsmodels numdiff and numpy", propagation, 301, 1e-9),
    ("weighted line, 5 references", "statsmodels WLS", line, 301, 1e-9),
    ("variance components, 30 days", "statsmodels anova_lm", variance_components, 21, 1e-9),
    ("probability of conformity, 1,000 values", "scipy.stats.norm", conformity, 11, 1e-12),
    ("coverage factors, 100 dof", "scipy.stats.t", coverage, 21, 1e-9),
]


def main() -> None:
    """Prints the table."""
    print(
        f"Python {platform.python_version()}, numpy {np.__version__}, scipy {scipy.__version__}, "
        f"statsmodels {statsmodels.__version__}; `python -m benchmarks`\n"
    )
    print("| work | peer | isohume | peer | times faster |")
    print("|---|---|---|---|---|")
    for name, peer, prepare, rounds, relative in WORK:
        ours, plain = prepare()
        np.testing.assert_allclose(np.asarray(ours()), np.asarray(plain()), rtol=relative)
        mine, theirs = medians(ours, plain, rounds)
        print(f"| {name} | {peer} | {1e3 * mine:.3g} ms | {1e3 * theirs:.3g} ms | {theirs / mine:.3g} |")
        if prepare is monte_carlo:
            print(f"| trials a second | {peer} | {TRIALS / mine:.3g} | {TRIALS / theirs:.3g} | |")


if __name__ == "__main__":
    main()
