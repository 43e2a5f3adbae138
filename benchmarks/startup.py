"""`isohume reference` against a bare start of the same interpreter; the goal is within 8 times."""

from __future__ import annotations

import shutil
import statistics
import subprocess
import sys
import time
from pathlib import Path

RUNS = 30


def seconds(command: list[str]) -> float:
    """Wall time of one run."""
    start = time.perf_counter()
    subprocess.run(command, check=True, stdout=subprocess.DEVNULL)
    return time.perf_counter() - start


def main() -> None:
    """Runs both in turn, so that both see the same machine, and prints the medians and their ratio."""
    isohume = Path(sys.executable).with_name("isohume")
    command = [str(isohume if isohume.exists() else shutil.which("isohume")), "reference", "NaCl", "--json"]
    bare = [sys.executable, "-c", "pass"]
    for warm_up in (command, bare):
        seconds(warm_up)
    pairs = [(seconds(command), seconds(bare)) for _ in range(RUNS)]
    ours, theirs = (statistics.median(column) for column in zip(*pairs, strict=True))
    ratio = statistics.median(a / b for a, b in pairs)
    print("| what | median | ratio | goal |\n|---|---|---|---|")
    print(f"| bare Python start | {1000 * theirs:.1f} ms | 1 | |")
    print(f"| `isohume reference NaCl --json` | {1000 * ours:.1f} ms | {ratio:.1f} | at most 8 |")


if __name__ == "__main__":
    main()
