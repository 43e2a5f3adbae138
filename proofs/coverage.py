"""Do the intervals of isotherms hold what they promise? Coverage over synthetic sets whose truth is known.

    python -m proofs.coverage [--sets 2000] [--seed 20251125] [--report docs/proof/coverage.md]

GAB and Peleg, 8, 12 and 30 points, noise of one size in moisture: the 95 % interval of the curve at three a_w, and the
profile interval of every parameter, must hold the truth in 93 to 97 % of the sets.
"""

from __future__ import annotations

import argparse
import platform
import sys
from collections import Counter
from concurrent.futures import ProcessPoolExecutor
from datetime import UTC, datetime
from pathlib import Path

import numpy as np

from isohume.product.sorption import Points, fit, moisture_at, profile_interval
from isohume.version import __version__
from proofs.isotherm_sets import EQUATIONS

REPORT = Path(__file__).parents[1] / "docs" / "proof" / "coverage.md"
TRUTH = {"gab": (0.06, 12.0, 0.92), "peleg": (0.12, 0.25, 0.5, 6.0)}
NOISE = 0.0015  # kg/kg: what a careful oven determination scatters by
AT = (0.3, 0.6, 0.85)
LOW, HIGH = 0.93, 0.97


def one_case(key: str, n: int, sets: int, seed: int) -> Counter[str]:
    """How many of the sets' intervals held the truth, by what they are an interval of; "held" counts fits at an end."""
    rng = np.random.default_rng([seed, n, len(key)])
    a = np.linspace(0.08, 0.92, n)
    truth = EQUATIONS[key](a, *TRUTH[key])
    curve = {at: float(EQUATIONS[key](np.array([at]), *TRUTH[key])[0]) for at in AT}
    hits: Counter[str] = Counter()
    for _ in range(sets):
        found = fit(Points(a, truth + NOISE * rng.standard_normal(n)), key)
        hits["at an end"] += any(u is None for u in found.u.values())
        for at in AT:
            interval = moisture_at(found, at)
            hits[f"moisture at a_w {at}"] += interval.low <= curve[at] <= interval.high
        for name, true in zip(found.model.names, TRUTH[key], strict=True):
            interval = profile_interval(found, name)
            hits[f"parameter {name}"] += interval.low <= true <= interval.high
    return hits


def page(cases: dict[tuple[str, int], Counter[str]], sets: int, seed: int) -> str:
    """The report."""
    lines = [
        "# Do the intervals of isotherms hold what they promise?",
        "",
        f"{datetime.now(UTC):%Y-%m-%d}, isohume {__version__}, Python {platform.python_version()}; "
        f"`python -m proofs.coverage --sets {sets} --seed {seed}`.",
        "",
        f"{sets} sets a case, noise {NOISE} kg/kg; 95 % intervals: of the curve by the covariance with Student's "
        "t, of the parameters by their profile. Wanted: 93 to 97 %.",
        "",
        "| model | points | interval of | holds the truth | wanted |",
        "|---|---:|---|---:|---|",
    ]
    for (key, n), hits in cases.items():
        for what, count in hits.items():
            share = count / sets
            kept = "(counted)" if what == "at an end" else "yes" if LOW <= share <= HIGH else "NO"
            lines.append(f"| {key} | {n} | {what} | {100 * share:.1f} % | {kept} |")
    return "\n".join(lines) + "\n"


def main(arguments: list[str] | None = None) -> int:
    """Runs every case, writes the page, and says whether all hold."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--sets", type=int, default=2000)
    parser.add_argument("--seed", type=int, default=20251125)
    parser.add_argument("--report", type=Path, default=REPORT)
    chosen = parser.parse_args([] if arguments is None else arguments)
    with ProcessPoolExecutor() as pool:
        jobs = {(key, n): pool.submit(one_case, key, n, chosen.sets, chosen.seed) for key in TRUTH for n in (8, 12, 30)}
        cases = {case: job.result() for case, job in jobs.items()}
    text = page(cases, chosen.sets, chosen.seed)
    print(text)
    chosen.report.write_text(text, encoding="utf-8")
    shares = [count / chosen.sets for hits in cases.values() for what, count in hits.items() if what != "at an end"]
    return 0 if all(LOW <= share <= HIGH for share in shares) else 1


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
