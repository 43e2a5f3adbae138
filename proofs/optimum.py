"""Is the optimum the global one? Noisy sets of every model against a dense independent search from many starts.

    python -m proofs.optimum [--sets 1000] [--starts 24] [--seed 20251125] [--report docs/proof/optimum.md]

The rival is scipy's bounded trust-region least squares on the printed equations (written a second time in
isotherm_sets.py), in the printed parameters, inside the admissible ranges, from `starts` random starts and from the
true parameters.
"""

from __future__ import annotations

import argparse
import platform
import sys
import time
import warnings
from concurrent.futures import ProcessPoolExecutor
from datetime import UTC, datetime
from pathlib import Path

import numpy as np
import scipy
from scipy.optimize import least_squares

from isohume.product.sorption import PANEL, Points, fit_panel
from isohume.version import __version__
from proofs.isotherm_sets import ADMISSIBLE, EQUATIONS, noisy, parameters

REPORT = Path(__file__).parents[1] / "docs" / "proof" / "optimum.md"
WANTED = 0.99
ALIKE = 1e-6


def best_of_many(key: str, a: np.ndarray, x: np.ndarray, starts: list[tuple[float, ...]]) -> float:
    """The least sum of squares that the rival finds."""
    low = [max(end, 1e-12) if end == 0 else end for end, _ in ADMISSIBLE[key]]
    high = [end for _, end in ADMISSIBLE[key]]
    best = np.inf
    for start in starts:
        try:
            found = least_squares(
                lambda p: EQUATIONS[key](a, *p) - x, np.clip(start, np.array(low) + 1e-10, np.array(high) - 1e-10),
                bounds=(low, high), x_scale=np.maximum(np.abs(start), 1e-3), xtol=1e-15, ftol=1e-15,
                gtol=1e-15, max_nfev=400,
            )  # fmt: skip
        except ValueError:  # a start where the equation overflows
            continue
        best = min(best, 2.0 * found.cost)
    return best


def one_model(key: str, sets: int, starts: int, seed: int) -> tuple[str, int, int, float, float]:
    """How many sets reached the rival's optimum, how many went below it, the worst excess, and seconds."""
    warnings.simplefilter("ignore")
    rng = np.random.default_rng([seed, PANEL.index(key)])
    began, alike, below, worst = time.perf_counter(), 0, 0, 0.0
    for _ in range(sets):
        n, noise = int(rng.integers(6, 31)), float(rng.uniform(0.01, 0.1))
        a, x, true = noisy(key, n, noise, rng)
        ours = float(fit_panel(Points(a, x), (key,)).outcome.figures[0, 2])
        rival = best_of_many(key, a, x, [true] + [parameters(key, rng) for _ in range(starts)])
        excess = (ours - rival) / rival
        alike += excess <= ALIKE
        below += excess < -ALIKE
        worst = max(worst, excess)
    return key, alike, below, worst, time.perf_counter() - began


def page(rows: list[tuple[str, int, int, float, float]], sets: int, starts: int, seed: int) -> str:
    """The report."""
    lines = [
        "# Is the optimum the global one?",
        "",
        f"{datetime.now(UTC):%Y-%m-%d}, isohume {__version__}, Python {platform.python_version()}, "
        f"scipy {scipy.__version__}; "
        f"`python -m proofs.optimum --sets {sets} --starts {starts} --seed {seed}`.",
        "",
        f"{sets} sets a model, 6 to 30 points, noise 1 to 10 % of moisture, parameters over the range of food. "
        f"The rival: bounded trust-region least squares on the printed equations from {starts} random starts and the "
        "true parameters.",
        "",
        "| model | within 1e-6 of the rival's best, or below | below it | worst relative excess |",
        "|---|---:|---:|---:|",
    ]
    lines += [f"| {key} | {alike} of {sets} | {below} | {worst:.1e} |" for key, alike, below, worst, _ in rows]
    return "\n".join(lines) + "\n"


def main(arguments: list[str] | None = None) -> int:
    """Runs all models, writes the page, and says whether each holds."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--sets", type=int, default=1000)
    parser.add_argument("--starts", type=int, default=24)
    parser.add_argument("--seed", type=int, default=20251125)
    parser.add_argument("--models", nargs="*", default=list(PANEL))
    parser.add_argument("--report", type=Path, default=REPORT)
    chosen = parser.parse_args([] if arguments is None else arguments)
    with ProcessPoolExecutor() as pool:
        jobs = [pool.submit(one_model, key, chosen.sets, chosen.starts, chosen.seed) for key in chosen.models]
        rows = [job.result() for job in jobs]
    text = page(rows, chosen.sets, chosen.starts, chosen.seed)
    print(text)
    chosen.report.write_text(text, encoding="utf-8")
    return 0 if all(alike >= WANTED * chosen.sets for _, alike, *_ in rows) else 1


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
