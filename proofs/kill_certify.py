"""Kill -9 of `isohume certify` at random moments: no half record, the chain verifies, the same command completes.

    python -m proofs.kill_certify [--runs 300] [--seed N] [--command isohume] [--report docs/proof/kill.md]

The installed, unmodified program is started as a user starts it. Its timeline is learned first; then every run is
killed at a random moment: anywhere in the run, within the write, or after it (seen from outside, through
/proc/locks). SIGSTOP first, so that the phase can be read, then SIGKILL. A broken variant, which commits record and
ledger line one after the other, must be caught by the same harness.
"""

from __future__ import annotations

import argparse
import json
import platform
import random
import shlex
import shutil
import statistics
import subprocess
import sys
import tempfile
import time
from collections import Counter
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path

from isohume.version import __version__
from proofs.kill_inputs import write_inputs
from proofs.kill_state import halves, has_ledger, records_of
from proofs.kill_watch import Timeline, Watched, wait_for_lock, watched_to_the_end

MAKING, BEFORE, WRITING, COMMITTED, REPLIED = PHASES = (
    "while the store was being made",
    "before BEGIN",
    "between BEGIN and COMMIT",
    "between COMMIT and reply",
    "replied",
)
STRATEGIES = ("anywhere", "writing", "after")
WEIGHTS = (40, 35, 25)
REPORT = Path(__file__).parents[1] / "docs" / "proof" / "kill.md"
BROKEN = 5  # series with the broken variant
MOMENTS = (
    "How the moments were drawn: 40 % uniformly over the whole run; 35 % uniformly over the length of a write, counted "
    "from when the write lock was first seen in /proc/locks; 25 % uniformly from the end of that length to the reply."
)
FRESH_EVERY = 6  # every sixth run makes a new store, the others append to one that grows


@dataclass
class Outcome:
    """What a series of kills showed."""

    phases: Counter[str] = field(default_factory=Counter)
    faults: list[str] = field(default_factory=list)
    moments: list[float] = field(default_factory=list)
    runs: int = 0
    committed_and_found_again: int = 0
    rolled_back_and_made_anew: int = 0
    left_over_files: set[Path] = field(default_factory=set)
    timeline: Timeline | None = None


class Harness:
    """Runs, kills and looks, in one temporary folder."""

    def __init__(self, command: list[str], verify_command: list[str], place: Path, rng: random.Random) -> None:
        self.command, self.verify_command = command, verify_command
        self.place, self.rng = place, rng
        self.outcome = Outcome()
        self._learned: list[Timeline] = []

    def learn(self, runs: int = 7) -> None:
        """Undisturbed runs first: when does it begin to write, when is that durable, when does it reply?"""
        for number in range(runs):
            lot, data = f"LEARN-{number}", self.place / "growing"
            watched = self._start(lot, data)
            seen = watched_to_the_end(watched)
            if watched.process.returncode != 0 or not watched.replied():
                raise SystemExit(f"an undisturbed run failed: {watched.output.with_suffix('.err').read_text()}")
            if len(records_of(data, lot)) != 1 or halves(data):
                raise SystemExit(f"an undisturbed run left {records_of(data, lot)}, {halves(data)}")
            if number:  # the first one makes the store
                self._learned.append(seen)
        parts = zip(*((seen.begin, seen.commit, seen.reply) for seen in self._learned), strict=True)
        self.outcome.timeline = Timeline(*(statistics.median(part) for part in parts))

    def run(self, number: int) -> bool:
        """One kill and everything that is asked after it; false where something was wrong."""
        lot = f"KILL-{number:04d}"
        data = self.place / (f"fresh-{number}" if number % FRESH_EVERY == 0 else "growing")
        before = len(self.outcome.faults)
        watched = self._start(lot, data)
        phase = self._kill_somewhere(watched, lot)
        self.outcome.runs += 1
        self.outcome.phases[phase] += 1
        self._ask(number, phase, data, lot, watched)
        if data.name != "growing":
            shutil.rmtree(data, ignore_errors=True)
        return len(self.outcome.faults) == before

    def _start(self, lot: str, data: Path) -> Watched:
        lot_file = write_inputs(self.place / "inputs" / lot, lot)
        command = [*self.command, "certify", str(lot_file), "--data", str(data), "--json"]
        return Watched(command, data, self.place / f"{lot}.out")

    def _kill_somewhere(self, watched: Watched, lot: str) -> str:
        timeline = self.outcome.timeline
        assert timeline is not None
        strategy = self.rng.choices(STRATEGIES, WEIGHTS)[0]
        share, limit = self.rng.random(), 10 * timeline.reply
        wait = 1.02 * timeline.reply * share
        writing = timeline.commit - timeline.begin
        if strategy != "anywhere":
            wait_for_lock(watched, limit)
            wait = watched.elapsed() + 1.3 * writing * share
        if strategy == "after":
            wait = watched.elapsed() + writing + (timeline.reply - timeline.commit) * share
        while watched.elapsed() < wait and not watched.ended():
            if wait - watched.elapsed() > 0.003:
                time.sleep(0.001)
        self.outcome.moments.append(watched.elapsed())
        stopped = watched.stop()
        held = stopped and watched.holds_write_lock()
        watched.kill()
        if watched.replied():
            return REPLIED
        if records_of(watched.data, lot):
            return COMMITTED
        if not has_ledger(watched.data):
            return MAKING if watched.data.exists() else BEFORE
        return WRITING if held else BEFORE

    def _ask(self, number: int, phase: str, data: Path, lot: str, watched: Watched) -> None:
        made = has_ledger(data)
        self._verifies(number, phase, data, "after the kill", made=made)
        kept = records_of(data, lot)
        if phase == REPLIED and not kept:
            self._fault(number, phase, "it replied, but no record is there")
        again = watched.command
        done = subprocess.run(again, capture_output=True, text=True, check=False, stdin=subprocess.DEVNULL)
        if done.returncode != 0:
            self._fault(number, phase, f"the same command did not complete: {done.stderr.strip()[:300]}")
            return
        reply = json.loads(done.stdout)
        found = records_of(data, lot)
        if len(found) != 1 or found != [reply["record"]] or (kept and kept != found):
            self._fault(number, phase, f"records of the lot: {kept} after the kill, {found} after the same command")
        if not Path(reply["pdf"]).is_file():
            self._fault(number, phase, f"no certificate at {reply['pdf']}")
        self.outcome.committed_and_found_again += bool(kept)
        self.outcome.rolled_back_and_made_anew += not kept
        self._verifies(number, phase, data, "after the same command", made=True)
        self.outcome.left_over_files.update(data.glob(".*"))

    def _verifies(self, number: int, phase: str, data: Path, when: str, *, made: bool) -> None:
        for half in halves(data):
            self._fault(number, phase, f"{when}: {half}")
        command = [*self.verify_command, "verify", str(data), "--json"]
        done = subprocess.run(command, capture_output=True, text=True, check=False)
        if made and done.returncode != 0:
            self._fault(number, phase, f"{when}, verify: {(done.stdout + done.stderr).strip()[:300]}")
        if not made and done.returncode != 2:
            self._fault(number, phase, f"{when}, verify of what is no store yet: exit {done.returncode}")

    def _fault(self, number: int, phase: str, what: str) -> None:
        self.outcome.faults.append(f"run {number}, killed {phase}: {what}")


def series(command: list[str], verify_command: list[str], runs: int, seed: int, *, until_caught: bool) -> Outcome:
    """Learn, then kill again and again; a broken command only until it is caught."""
    with tempfile.TemporaryDirectory(prefix="isohume-kill-") as place:
        harness = Harness(command, verify_command, Path(place), random.Random(seed))
        harness.learn()
        for number in range(1, runs + 1):
            good = harness.run(number)
            if sys.stderr.isatty() or number % 25 == 0:
                print(f"\r{number} of {runs}", end="", file=sys.stderr, flush=True)
            if until_caught and not good:
                break
        print(file=sys.stderr)
        return harness.outcome


def histogram(outcome: Outcome) -> list[str]:
    """The phases the kills fell into, with bars."""
    lines = ["| killed | runs | share | |", "|---|---|---|---|"]
    for phase in PHASES:
        count = outcome.phases[phase]
        share = count / max(1, outcome.runs)
        lines.append(f"| {phase} | {count} | {100 * share:.1f} % | {'#' * round(40 * share)} |")
    return lines


def within_share(outcome: Outcome) -> float:
    """The share of kills between BEGIN and reply."""
    return (outcome.phases[WRITING] + outcome.phases[COMMITTED]) / max(1, outcome.runs)


def report(sound: Outcome, broken: list[Outcome], seed: int, command: str) -> str:
    """The page for docs/proof."""
    assert sound.timeline is not None
    lines = [
        "# Kill -9 of `isohume certify`",
        "",
        f"{datetime.now(UTC):%Y-%m-%d}, isohume {__version__}, Python {platform.python_version()}, "
        f"{platform.system()} {platform.release()}, command `{command}`, seed {seed}. "
        f"Again: `python -m proofs.kill_certify --runs {sound.runs} --seed {seed}`.",
        "",
        f"**{sound.runs} kills, {len(sound.faults)} faults.** {100 * within_share(sound):.0f} % fell between BEGIN and "
        f"reply (30 % wanted). Undisturbed: {sound.timeline.describe()}.",
        "",
        *histogram(sound),
        "",
        MOMENTS,
        f"Kills came {1e3 * min(sound.moments):.0f} to {1e3 * max(sound.moments):.0f} ms after the start. After each: "
        "`isohume verify` exits 0 (2 where the kill fell before there was a store), no record without its ledger line "
        "and no line without its record (plain SQL), no certificate cut short or without a record; the same command, "
        "given again, completes, leaves exactly one record of those inputs with its certificate, and `verify` exits 0.",
        f"{sound.committed_and_found_again} records were durable when the kill came, and the same command found them; "
        f"{sound.rolled_back_and_made_anew} were not, and it made them. Hidden unfinished files left beside the "
        f"certificates: {len(sound.left_over_files)} (they are never read).",
        "",
        *(f"- {fault}" for fault in sound.faults),
        "## The harness can see it",
        "",
        "`proofs/two_commits.py` commits record and ledger line one after the other (the database's own guard switched "
        f"off). The same harness, in {len(broken)} series with other seeds:",
        "",
        *(f"- {one.faults[0] if one.faults else f'NOT CAUGHT in {one.runs} runs'}" for one in broken),
        "",
        "A kill stops a process, not the machine: what a power cut does rests on SQLite's synced commit; it is not "
        "shown here.",
        "",
    ]
    return "\n".join(lines)


def main() -> int:
    """Run both series and print, or write, the report."""
    parser = argparse.ArgumentParser(description="Kill certify at random moments.")
    parser.add_argument("--runs", type=int, default=300)
    parser.add_argument("--seed", type=int, default=None)
    parser.add_argument("--command", default=str(Path(sys.executable).with_name("isohume")))
    parser.add_argument("--report", type=Path, default=REPORT, help="the page that is written")
    given = parser.parse_args()
    seed = random.SystemRandom().randrange(10**6) if given.seed is None else given.seed
    print(f"seed {seed}")
    command = shlex.split(given.command)
    sound = series(command, command, given.runs, seed, until_caught=False)
    print("\n".join(histogram(sound)))
    broken_command = [sys.executable, "-m", "proofs.two_commits"]
    broken = [series(broken_command, command, given.runs, seed + at, until_caught=True) for at in range(1, 1 + BROKEN)]
    page = report(sound, broken, seed, Path(command[0]).name)
    given.report.parent.mkdir(parents=True, exist_ok=True)
    given.report.write_text(page, encoding="utf-8")
    caught = [one.runs for one in broken if one.faults]
    print(f"{sound.runs} kills, {len(sound.faults)} faults; the broken variant was caught in run {caught}")
    return 0 if not sound.faults and len(caught) == BROKEN and within_share(sound) >= 0.3 else 1


if __name__ == "__main__":
    sys.exit(main())
