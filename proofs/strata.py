"""Does a lot with one wet position pass more often than it may? The decision on strata by drawn lots.

    python -m proofs.strata [--draws 4000] [--seed 20261128] [--report docs/proof/strata.md]

Lots of three to twelve positions whose bottom lies just beyond a maximum; the other positions lie at the limit, one to
five repeatabilities below it, or far below. With w = 2 u a single position passes falsely in 2.28 % of the draws: no
case may pass more often. Beside it stands what pooling after a test that saw nothing would do (the rule of quality
limits), and how often a good, even lot at its acceptance limit is held for the choice of the worst position.
"""

from __future__ import annotations

import argparse
import platform
import sys
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from datetime import UTC, datetime
from decimal import Decimal
from math import sqrt
from pathlib import Path

import numpy as np

from isohume.bench.decision import Specification, decide, judge_strata
from isohume.foundation.metrology import normal_cdf
from isohume.foundation.quantity.limits import Limit
from isohume.version import __version__

REPORT = Path(__file__).parents[1] / "docs" / "proof" / "strata.md"
LIMIT, S_R, U = Decimal("0.850"), 0.002, 0.004
U_COMMON = sqrt(U**2 - S_R**2)
SAFETY = Specification(None, Limit(LIMIT, "<="))
QUALITY = Specification(None, Limit(LIMIT, "<="), "quality")
ALLOWED = float(normal_cdf(-2.0))
POSITIONS, PORTIONS = (2, 3, 6, 12), (2, 3)
BELOW = (0.0, 1.0, 2.0, 3.0, 5.0, 20.0)


@dataclass(frozen=True)
class Case:
    """So many positions of so many portions; the others lie so many s_r below the bottom."""

    positions: int
    portions: int
    below: float


@dataclass(frozen=True)
class Rates:
    """Shares of passes: a lot with a bad bottom under both rules; the same places all good, at the acceptance limit."""

    safety: float
    quality: float
    good: float


def passes(read: list[tuple[str, Decimal]], rule: Specification) -> bool:
    """Whether a lot of these portions passes."""
    found = judge_strata(read, Decimal(str(S_R)), U_COMMON, rule)
    if found is None or found.determination is None or found.determination.value is None:
        return False
    n = found.determination.n
    u = sqrt(U_COMMON**2 + S_R**2 / n * (1.5708 if found.determination.is_median else 1.0))
    # the single portions are left out: one beyond a safety limit holds the lot anyway, and would hide what is tested
    return decide(found.determination.value, u, rule, route=found.determination.route).verdict == "pass"


def drawn(dice: np.random.Generator, means: list[float], portions: int) -> list[tuple[str, Decimal]]:
    """A lot as read: one error for all of it, repeatability for each portion."""
    common = dice.normal(0.0, U_COMMON)
    return [
        (f"position {k}", Decimal(f"{mean + common + dice.normal(0.0, S_R):.5f}"))
        for k, mean in enumerate(means)
        for _ in range(portions)
    ]


def one_case(case: Case, draws: int, seed: int) -> Rates:
    """The three shares of a case."""
    dice = np.random.default_rng([seed, case.positions, case.portions, int(10 * case.below)])
    bad = [0.85001, *([0.85001 - case.below * S_R] * (case.positions - 1))]
    good = [0.85 - 2.0 * sqrt(U_COMMON**2 + S_R**2 / case.portions)] * case.positions
    safety = quality = kept = 0
    for _ in range(draws):
        read = drawn(dice, bad, case.portions)
        safety += passes(read, SAFETY)
        quality += passes(read, QUALITY)
        kept += passes(drawn(dice, good, case.portions), SAFETY)
    return Rates(safety / draws, quality / draws, kept / draws)


def holds(rates: Rates, draws: int) -> bool:
    """Whether the false passes are no more than allowed, but for four standard errors of the drawing."""
    return rates.safety <= ALLOWED + 4.0 * sqrt(ALLOWED * (1.0 - ALLOWED) / draws)


def page(found: dict[Case, Rates], draws: int, seed: int) -> str:
    """The report."""
    lines = [
        "# Does a lot with one wet position pass more often than it may?",
        "",
        f"{datetime.now(UTC):%Y-%m-%d}, isohume {__version__}, Python {platform.python_version()}; "
        f"`python -m proofs.strata --draws {draws} --seed {seed}`.",
        "",
        f"{draws} lots a case, maximum {LIMIT}, u {U} of which s_r {S_R}, w = 2 u. The bottom lies just beyond the "
        f"limit, the others so many s_r below it. Allowed: {100 * ALLOWED:.2f} % (one position by itself), "
        "and four standard errors of the drawing.",
        "",
        "| positions | portions each | others below by | false passes | holds | pooled where no test saw it |"
        " an even lot at its acceptance limit passes |",
        "|---:|---:|---:|---:|---|---:|---:|",
    ]
    for case, rates in found.items():
        kept = "yes" if holds(rates, draws) else "NO"
        lines.append(
            f"| {case.positions} | {case.portions} | {case.below:g} s_r | {100 * rates.safety:.2f} % | {kept} | "
            f"{100 * rates.quality:.2f} % | {100 * rates.good:.1f} % |"
        )
    lines += [
        "",
        "The last column is the price: a lot that lies exactly at the acceptance limit of one position would pass in "
        "one half of the draws; each further position that must pass by itself lowers that, and where the portions of "
        "one of them disagree more of them are asked for first. A lot well inside pays little.",
    ]
    return "\n".join(lines) + "\n"


def main(arguments: list[str] | None = None) -> int:
    """Runs every case, writes the page, and says whether all hold."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--draws", type=int, default=4_000)
    parser.add_argument("--seed", type=int, default=20261128)
    parser.add_argument("--report", type=Path, default=REPORT)
    chosen = parser.parse_args([] if arguments is None else arguments)
    cases = [Case(k, n, below) for k in POSITIONS for n in PORTIONS for below in BELOW]
    with ProcessPoolExecutor() as pool:
        rates = pool.map(one_case, cases, [chosen.draws] * len(cases), [chosen.seed] * len(cases))
        found = dict(zip(cases, rates, strict=True))
    chosen.report.write_text(page(found, chosen.draws, chosen.seed), encoding="utf-8")
    return 0 if all(holds(one, chosen.draws) for one in found.values()) else 1


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
