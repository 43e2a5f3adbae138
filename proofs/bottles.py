"""When does the bottle ledger flag a bottle, and how often does it cry wolf? Simulated plants whose truth is known.

    python -m proofs.bottles [--plants 400] [--years 60] [--seed 20261128] [--report docs/proof/bottles.md]

Detection: a bottle, or an instrument, drifts by +0.001 a day after some days of history; the day it is flagged, and
what else was flagged. False alarms: plants in which nothing moves, looked at every day of a year.
"""

from __future__ import annotations

import argparse
import platform
import sys
from collections.abc import Callable
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from datetime import UTC, datetime
from functools import partial
from pathlib import Path

import numpy as np

from isohume.bench.assurance.bottle_findings import BottleReading
from isohume.bench.assurance.bottle_ledger import FALSE_ALARMS_A_YEAR, bottle_ledger
from isohume.version import __version__

REPORT = Path(__file__).parents[1] / "docs" / "proof" / "bottles.md"
LIMIT = 0.005
A_DAY = 0.001
WINDOW = 60
WATCHED = 12  # days after the drift began
BY_DAY = 5
WANTED = 0.9  # of the plants, by that day

Drift = Callable[[str, str, float], float]


@dataclass(frozen=True)
class Plant:
    """What is read every morning: bottles with their solution, instruments, scatter, days before the drift."""

    name: str
    bottles: tuple[tuple[str, str], ...]
    instruments: tuple[str, ...]
    s: float
    s_day: float
    history: int


PAIR = (("A", "NaCl"), ("B", "NaCl"))
FOUR = (*PAIR, ("C", "MgCl2"), ("D", "LiCl"))
LONE = (("A", "NaCl"), ("C", "MgCl2"), ("D", "LiCl"))
PLANTS = (
    Plant("a pair of NaCl and two other solutions, one instrument", FOUR, ("1",), 0.0008, 0.0005, 30),
    Plant("the same on two instruments", FOUR, ("1", "2"), 0.0008, 0.0005, 30),
    Plant("the same, one instrument, ten days of history", FOUR, ("1",), 0.0008, 0.0005, 10),
    Plant("only a pair of NaCl, one instrument", PAIR, ("1",), 0.0008, 0.0005, 30),
    Plant("a pair and two others, readings scatter more", FOUR, ("1",), 0.0015, 0.0008, 30),
)
ALONE = Plant("one bottle of each solution, one instrument", LONE, ("1",), 0.0008, 0.0005, 30)
ALONE_TWICE = Plant("one bottle of each solution, two instruments", LONE, ("1", "2"), 0.0008, 0.0005, 30)


def morning(plant: Plant, day: int, drift: Drift, rng: np.random.Generator) -> list[BottleReading]:
    """One check on each instrument."""
    found = []
    for instrument in plant.instruments:
        shared = rng.normal(0.0, plant.s_day)
        for bottle, solution in plant.bottles:
            off = shared + rng.normal(0.0, plant.s) + drift(bottle, instrument, day)
            found.append(BottleReading(bottle, solution, instrument, f"{instrument}/{day}", day, off, 0.0001))
    return found


@dataclass(frozen=True)
class Seen:
    """What a simulated plant was told: the day it was first said that something moves, the day the right one was named.

    `WATCHED + 1` where it never was; `wrong` where something else was named on any day.
    """

    moves: int
    named: int
    wrong: bool


def detect(plant: Plant, what: str, seed: int) -> Seen:
    """A drift that begins after the plant's history, looked at every day."""
    rng = np.random.default_rng(seed)

    def drift(bottle: str, instrument: str, day: float) -> float:
        mine = bottle == "A" if what == "bottle" else instrument == "1"
        return A_DAY * max(0.0, day - plant.history + 1) * mine

    truth = "A" if what == "bottle" else "1"
    readings: list[BottleReading] = []
    moves = named = WATCHED + 1
    wrong = False
    for day in range(plant.history + WATCHED):
        readings += morning(plant, day, drift, rng)
        if day < plant.history:
            continue
        movements = bottle_ledger(readings, LIMIT).movements
        told = [(m.kind, {c.name for c in m.causes}) for m in movements if m.kind != "cannot be told apart"]
        now = day - plant.history + 1
        moves = min(moves, now) if movements else moves
        named = min(named, now) if (what, {truth}) in told else named
        wrong |= any(kind != what or truth not in names for kind, names in told)
    return Seen(moves, named, wrong)


def one_year(plant: Plant, seed: int) -> tuple[int, int]:
    """Alarms of bottles, and of instruments, in a year of days in which nothing moves: each time one newly stands."""
    rng = np.random.default_rng(seed)
    days: list[list[BottleReading]] = []
    before: set[str] = set()
    alarms = {"bottle": 0, "instrument": 0}
    for day in range(365 + WINDOW):
        days.append(morning(plant, day, lambda *_: 0.0, rng))
        if day < WINDOW:
            continue
        ledger = bottle_ledger([r for one in days[-WINDOW:] for r in one], LIMIT)
        now = {f"{c.kind} {c.name}" for m in ledger.movements for c in m.causes}
        for new in now - before:
            alarms[new.split()[0]] += 1
        before = now
    return alarms["bottle"], alarms["instrument"]


def detection_rows(plants: int, seed: int, pool: ProcessPoolExecutor) -> tuple[list[str], bool]:
    """The table of detection days; whether the first plants are told in time and rightly."""
    lines, held = [], True
    for plant, what in [(p, w) for p in PLANTS for w in ("bottle", "instrument")]:
        found = list(pool.map(partial(detect, plant, what), range(seed, seed + plants), chunksize=10))
        days = sorted(one.named for one in found)
        by_day = sum(day <= BY_DAY for day in days) / plants
        wrong = sum(one.wrong for one in found) / plants
        if plant in PLANTS[:2]:
            held &= by_day >= WANTED and wrong <= 1 - WANTED
        first = sorted(one.moves for one in found)[plants // 2]
        lines.append(
            f"| {plant.name} (s {plant.s:g}) | {what} | {first} | {days[plants // 2]} | {days[int(0.95 * plants)]} | "
            f"{100 * by_day:.1f} % | {100 * wrong:.1f} % |"
        )
    return lines, held


def alone_rows(plants: int, seed: int, pool: ProcessPoolExecutor) -> tuple[list[str], bool]:
    """What is said of a bottle without a sibling: never the bottle on one instrument."""
    lines, held = [], True
    for plant in (ALONE, ALONE_TWICE):
        found = list(pool.map(partial(detect, plant, "bottle"), range(seed, seed + plants), chunksize=10))
        told, named, wrong = (
            sum(flag) / plants
            for flag in zip(*((s.moves <= WATCHED, s.named <= WATCHED, s.wrong) for s in found), strict=True)
        )
        if plant is ALONE:
            held = named == 0
        lines.append(f"| {plant.name} | {100 * told:.1f} % | {100 * named:.1f} % | {100 * wrong:.1f} % |")
    return lines, held


def page(plants: int, years: int, seed: int, pool: ProcessPoolExecutor) -> tuple[str, bool]:
    """The report, and whether it holds."""
    detection, in_time = detection_rows(plants, seed, pool)
    alone, apart = alone_rows(plants, seed, pool)
    quiet = PLANTS[1]
    alarms = list(pool.map(partial(one_year, quiet), range(seed, seed + years), chunksize=1))
    bottles, instruments = (sum(column) for column in zip(*alarms, strict=True))
    bottle_years, instrument_years = years * len(quiet.bottles), years * len(quiet.instruments)
    rates = bottles / bottle_years, instruments / instrument_years
    quiet_enough = max(rates) <= FALSE_ALARMS_A_YEAR
    lines = [
        "# Does the bottle ledger flag the bottle, and only the bottle?",
        "",
        f"{datetime.now(UTC):%Y-%m-%d}, isohume {__version__}, Python {platform.python_version()}; "
        f"`python -m proofs.bottles --plants {plants} --years {years} --seed {seed}`.",
        "",
        f"One check a day on each instrument, limit of the check {LIMIT}, drift +{A_DAY} a day from day 1 on, "
        f"{plants} plants a row, each looked at every day for {WATCHED} days; {WATCHED + 1} stands for never. "
        "Wrong: something that does not drift was named on any of the days.",
        "",
        "| plant | drifts | something moves, median day | named, median day | 95 % by day | named by day 5 | wrong |",
        "|---|---|---:|---:|---:|---:|---:|",
        *detection,
        "",
        f"In the first two plants the right one must be named by day {BY_DAY} in {100 * WANTED:.0f} % of cases or more "
        f"and nothing else in as many: {'yes' if in_time else 'NO'}.",
        "",
        "A bottle that drifts and has no sibling:",
        "",
        "| plant | told that something moves | bottle named | wrong |",
        "|---|---:|---:|---:|",
        *alone,
        "",
        f"On one instrument it must never be named: {'yes' if apart else 'NO'}.",
        "",
        "## False alarms",
        "",
        f"Nothing moves; looked at every day for a year with the last {WINDOW} days in view, {years} plant-years of a "
        "pair of NaCl and two other solutions on two instruments. Each time something newly stands flagged, or newly "
        "stands among what cannot be told apart, counts.",
        "",
        "| | years watched | alarms | a year | promised at most |",
        "|---|---:|---:|---:|---:|",
        f"| bottle | {bottle_years} | {bottles} | {rates[0]:.3f} | {FALSE_ALARMS_A_YEAR:g} |",
        f"| instrument | {instrument_years} | {instruments} | {rates[1]:.3f} | {FALSE_ALARMS_A_YEAR:g} |",
        "",
        f"Below what is promised: {'yes' if quiet_enough else 'NO'}. The promise is held by adding up the chances of "
        "all tests of a year, which overlap, and small movements that do not matter are not told: fewer are met.",
    ]
    return "\n".join(lines) + "\n", in_time and apart and quiet_enough


def main(arguments: list[str] | None = None) -> int:
    """Runs every plant, writes the page, and says whether all holds."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--plants", type=int, default=400)
    parser.add_argument("--years", type=int, default=60)
    parser.add_argument("--seed", type=int, default=20261128)
    parser.add_argument("--report", type=Path, default=REPORT)
    chosen = parser.parse_args([] if arguments is None else arguments)
    with ProcessPoolExecutor() as pool:
        text, held = page(chosen.plants, chosen.years, chosen.seed, pool)
    chosen.report.write_text(text, encoding="utf-8")
    print(text)
    return 0 if held else 1


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
