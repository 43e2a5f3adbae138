"""Kill -9 of each process of the site at random moments of random acts: nothing acknowledged lost, nothing half saved.

    python -m proofs.site_kill [--moments 200] [--seed N] [--report docs/proof/site-kill.md]

The installed, unmodified program is started as a person starts it and used over HTTP. While an act is on its way, one
of its processes is killed: the supervisor, the pages' server, its inner process, the live streams, or the worker. A
stream follows the ledger all the while, as an open page does. A broken variant must be caught by the same harness.
"""

from __future__ import annotations

import argparse
import platform
import random
import shutil
import statistics
import subprocess
import sys
import tempfile
import threading
import time
from collections import Counter
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path

from isohume.version import __version__
from proofs.site_actions import ACTS, CERTIFICATE, PEOPLE, RELEASED, Act, found, password_of
from proofs.site_browser import Browser, NoAnswerError
from proofs.site_process import SiteProcess, kill
from proofs.site_state import faults_of_site, looked_at, unfinished_jobs
from proofs.site_stream import Stream

TARGETS = ("web", "web, its inner process", "live", "worker", "supervisor")
ACKNOWLEDGED, REFUSED, CUT_OFF = "acknowledged", "refused", "cut off"
REPORT = Path(__file__).parents[1] / "docs" / "proof" / "site-kill.md"
BROKEN_MOMENTS = 120  # the broken variant's pages are killed until it is caught, at most so often
LEARNING = 5
WORKER_BUSY = 0.7  # the share of the worker's kills that come while it is asked for a certificate
JOBS_WITHIN_S = 120.0
RECENT = 8  # how many of the last acts are looked for after each kill; in the end all are
WHILE_SENDING = 0.6  # the share of kills drawn from the time after the form was sent; the others from the whole act


@dataclass
class Outcome:
    """What a series of kills showed."""

    moments: int = 0
    killed: Counter[str] = field(default_factory=Counter)
    answers: Counter[str] = field(default_factory=Counter)
    kept_though_cut_off: int = 0
    back_s: dict[str, list[float]] = field(default_factory=dict)
    gone_s: list[float] = field(default_factory=list)
    faults: list[str] = field(default_factory=list)
    first_line: int = 0
    lines: int = 0
    streams: int = 0


class Harness:
    """One site on a copy of the demonstration plant: acts, kills, and looks."""

    def __init__(self, command: list[str], folder: Path, rng: random.Random, targets: tuple[str, ...]) -> None:
        self._targets = targets
        self.folder, self.rng, self.outcome = folder, rng, Outcome()
        self.site = SiteProcess(command, folder)
        self.site.start()
        self.site.wait_until_up()
        self._password = password_of(folder)
        self.browsers = {who: Browser(self.site.address) for who in PEOPLE}
        for who, browser in self.browsers.items():
            browser.sign_in(who, self._password)
        with looked_at(folder) as connection:
            self._records = [str(row[0]) for row in connection.execute(RELEASED)]
        self.stream = Stream(lambda: self.site.live, lambda: self.browsers[PEOPLE[0]].cookies)
        self.stream.start()
        self.outcome.first_line = self._last_line()
        self._done: list[tuple[Act, str, str]] = []
        self._takes = {act.name: self._learn(act) for act in ACTS}

    def moment(self, number: int) -> bool:
        """One act, one kill while it is on its way, and everything that is asked afterwards."""
        before, target = len(self.outcome.faults), self.rng.choice(self._targets)
        act = CERTIFICATE if target == "worker" and self.rng.random() < WORKER_BUSY else self.rng.choice(ACTS)
        mark = self._mark(act, f"kill{number:04d}")
        answer: list[str] = []
        acting = threading.Thread(target=lambda: answer.append(self._act(act, mark)))
        acting.start()
        if self.rng.random() < WHILE_SENDING:
            self.browsers[act.by].sending.wait(10)
        time.sleep(1.2 * self._takes[act.name] * self.rng.random())
        self._kill(number, target)
        acting.join()
        self._come_back(number, target)
        self.outcome.moments += 1
        self.outcome.killed[target] += 1
        self.outcome.answers[answer[0]] += 1
        self._done.append((act, mark, answer[0]))
        self._look(number, target)
        return len(self.outcome.faults) == before

    def end(self) -> None:
        """Every job comes to its end, the stream has seen every line once, in order, and SIGTERM ends all."""
        until = time.monotonic() + JOBS_WITHIN_S
        while (left := unfinished_jobs(self.folder)) and time.monotonic() < until:
            time.sleep(0.2)
        if left:
            self._fault("the end", f"jobs {left} were never finished")
        for fault in faults_of_site(self.folder):
            self._fault("the end", fault)
        self._acknowledged_is_there("the end", self._done)
        last = self._last_line()
        until = time.monotonic() + 20
        while (not self.stream.seen or self.stream.seen[-1] < last) and time.monotonic() < until:
            time.sleep(0.1)
        self.stream.stop()
        if self.stream.seen != list(range(1, last + 1)):
            self._fault("the stream", f"saw {len(self.stream.seen)} lines, last {self.stream.seen[-1:]}, of {last}")
        self.outcome.lines, self.outcome.streams = last, self.stream.opened
        if self.site.stop() != 0:
            self._fault("the end", "SIGTERM did not end it with exit status 0")

    def close(self) -> None:
        """Whatever happened, nothing stays behind."""
        for pid in self.site.everything():
            kill(pid)

    def _learn(self, act: Act) -> float:
        times = []
        for number in range(LEARNING):
            mark = self._mark(act, f"learn{ACTS.index(act)}{number}")
            begun = time.perf_counter()
            answer = self._act(act, mark)
            times.append(time.perf_counter() - begun)
            if answer != ACKNOWLEDGED:
                raise SystemExit(f"an undisturbed act failed: {act.name}: {answer}")
            self._done.append((act, mark, answer))
        return statistics.median(times)

    def _mark(self, act: Act, mark: str) -> str:
        return self._records.pop(self.rng.randrange(len(self._records))) if act is CERTIFICATE else mark

    def _act(self, act: Act, mark: str) -> str:
        try:
            page = act.do(self.browsers[act.by], mark)
        except (NoAnswerError, LookupError):
            return CUT_OFF
        return ACKNOWLEDGED if page.status < 400 else REFUSED

    def _kill(self, number: int, target: str) -> None:
        if target == "supervisor":
            left, took = self.site.kill_supervisor()
            self.outcome.gone_s.append(took)
            if left:
                self._fault(f"moment {number}", f"{len(left)} processes outlived the killed supervisor")
            return
        pid = self.site.parts().get(target)
        if pid is None:
            raise SystemExit(f"moment {number}: no {target} to kill among {self.site.parts()}")
        kill(pid)

    def _come_back(self, number: int, target: str) -> None:
        # a person, or the system's own starter, starts the supervisor; the others come back by themselves
        took = self.site.start() if target == "supervisor" else 0.0
        self.outcome.back_s.setdefault(target, []).append(took + self.site.wait_until_up())
        for who, browser in self.browsers.items():
            browser.close()
            if browser.get("/people/").path.startswith("/sign-in/"):
                self._fault(f"moment {number}", f"the session of {who} was lost")
                browser.sign_in(who, self._password)

    def _look(self, number: int, target: str) -> None:
        where = f"moment {number}, {target} killed"
        for fault in faults_of_site(self.folder):
            self._fault(where, fault)
        with looked_at(self.folder) as connection:
            act, mark, answer = self._done[-1]
            kept = found(connection, act, mark)
            if kept not in ((0, 0), (1, 1)):
                self._fault(where, f"{act.name} is half saved: {kept[0]} rows, {kept[1]} ledger lines")
            if answer == CUT_OFF and kept == (1, 1):
                self.outcome.kept_though_cut_off += 1
        self._acknowledged_is_there(where, self._done[-RECENT:])

    def _acknowledged_is_there(self, where: str, acts: list[tuple[Act, str, str]]) -> None:
        with looked_at(self.folder) as connection:
            for act, mark, answer in acts:
                if answer == ACKNOWLEDGED and found(connection, act, mark) != (1, 1):
                    self._fault(where, f"{act.name} {mark} was acknowledged and is not there")

    def _last_line(self) -> int:
        with looked_at(self.folder) as connection:
            return int(connection.execute("SELECT max(seq) FROM ledger").fetchone()[0])

    def _fault(self, where: str, what: str) -> None:
        self.outcome.faults.append(f"{where}: {what}")


def series(command: list[str], plant: Path, moments: int, seed: int, *, until_caught: bool) -> Outcome:
    """Kill again and again, on a copy of a plant; a broken site only until it is caught."""
    with tempfile.TemporaryDirectory(prefix="isohume-kill-") as place:
        folder = Path(place) / "plant"
        shutil.copytree(plant, folder)
        # what the broken variant breaks is in the pages' process: killing others would show nothing
        harness = Harness(command, folder, random.Random(seed), TARGETS[:2] if until_caught else TARGETS)
        try:
            for number in range(1, moments + 1):
                good = harness.moment(number)
                if sys.stderr.isatty() or number % 10 == 0:
                    print(f"\r{number} of {moments}, {len(harness.outcome.faults)} faults", end="", file=sys.stderr)
                if until_caught and not good:
                    break
            else:
                harness.end()
        finally:
            harness.close()
        print(file=sys.stderr)
        return harness.outcome


def report(sound: Outcome, broken: Outcome, seed: int) -> str:
    """The page for docs/proof."""
    rows = [
        f"| {target} | {sound.killed[target]} | {statistics.median(times):.2f} s | {max(times):.2f} s |"
        for target in TARGETS
        if (times := sound.back_s.get(target))
    ]
    caught = broken.faults[0] if broken.faults else f"NOT CAUGHT in {broken.moments} moments"
    lines = [
        "# Kill -9 of each process of the site",
        "",
        f"{datetime.now(UTC):%Y-%m-%d}, isohume {__version__}, Python {platform.python_version()}, "
        f"{platform.system()} {platform.release()}, seed {seed}. "
        f"Again: `python -m proofs.site_kill --moments {sound.moments} --seed {seed}`.",
        "",
        f"**{sound.moments} kills, {len(sound.faults)} faults.** While an act ({', '.join(a.name for a in ACTS)}) was "
        "on its way over HTTP, one process was killed at a moment drawn evenly from 1.2 times the act's usual length, "
        f"{100 * WHILE_SENDING:.0f} % counted from when its form was sent and the others from its begin.",
        "",
        "| killed | times | back after, median | longest |",
        "|---|---|---|---|",
        *rows,
        "",
        "The supervisor is started again by its command, as a person or the system does; the others come back by "
        "themselves. After the supervisor's death the last of its processes was gone within "
        f"{max(sound.gone_s, default=0.0):.1f} s.",
        "",
        f"Acts: {sound.answers[ACKNOWLEDGED]} acknowledged, {sound.answers[CUT_OFF]} cut off "
        f"({sound.kept_though_cut_off} of these were durable when the kill came), {sound.answers[REFUSED]} refused. "
        "After each kill: what was acknowledged is in the register and in the ledger; the act that was cut off "
        "is in both or in neither; every ledger line has its rows and its trail; `verify` passes; the sessions hold. "
        "In the end every job had been done, its paper whole.",
        "",
        f"A page's stream, opened {sound.streams} times because kills broke it, came back as browsers do and saw each "
        f"of the {sound.lines} ledger lines once, in order ({sound.first_line} were there before).",
        "",
        *(f"- {fault}" for fault in sound.faults),
        "## The harness can see it",
        "",
        "`proofs/site_two_commits.py` commits the register's change and its ledger line one after the other. The same "
        f"harness: {caught}.",
        "",
        "A kill stops a process, not the machine: what a power cut does rests on SQLite's synced commit; it is not "
        "shown here.",
        "",
    ]
    return "\n".join(lines)


def main() -> int:
    """Run both series and write the report."""
    parser = argparse.ArgumentParser(description="Kill the site's processes at random moments.")
    parser.add_argument("--moments", type=int, default=200)
    parser.add_argument("--seed", type=int, default=None)
    parser.add_argument("--report", type=Path, default=REPORT, help="the page that is written")
    parser.add_argument("--plant", type=Path, default=None, help="a demonstration plant to copy; else one is made")
    given = parser.parse_args()
    seed = random.SystemRandom().randrange(10**6) if given.seed is None else given.seed
    print(f"seed {seed}")
    command = [sys.executable, "-c", "from isohume.outlets.cli.main import run; run()", "serve"]
    broken_command = [sys.executable, "-m", "proofs.site_two_commits", "serve"]
    with tempfile.TemporaryDirectory(prefix="isohume-kill-") as place:
        plant = given.plant or Path(place) / "plant"
        if given.plant is None:
            make = [*command, "--demo", "--data", str(plant), "--port", "0", "--until-ready"]
            subprocess.run(make, check=True, stdout=subprocess.DEVNULL)
        sound = series(command, plant, given.moments, seed, until_caught=False)
        broken = series(broken_command, plant, BROKEN_MOMENTS, seed + 1, until_caught=True)
    given.report.write_text(report(sound, broken, seed), encoding="utf-8")
    print(f"{sound.moments} kills, {len(sound.faults)} faults; the broken variant: {broken.faults[:1]}")
    return 0 if not sound.faults and broken.faults else 1


if __name__ == "__main__":
    sys.exit(main())
