"""Kernels of the forecast, compiled before somebody opens a run's page.

`python -m isohume.outlets.serve.warm` compiles what the cache does not hold, in a process of its own, since a compiler
that runs beside the pages makes them wait. The pages' process then only reads the cache, in a thread.
"""

from __future__ import annotations

import os
import subprocess
import sys
from threading import Thread

from isohume.outlets.serve.lifeline import follow_parent_process

NICE = 10
WITHIN_S = 300


def warm_behind() -> None:
    """Begin to warm, and return at once."""
    Thread(target=_compiled_and_read, name="warm", daemon=True).start()


def warm() -> None:
    """Judge a short made-up trace, so that everything a run's page needs is compiled and loaded."""
    from decimal import Decimal
    from math import exp

    from isohume.bench.reading.diagnosis import judge_trace
    from isohume.bench.reading.settling import DEFAULT_CRITERION, Sample, trace_of_samples

    room, block = Decimal("0.45"), Decimal("25.0")
    samples = [
        Sample(Decimal(10 * n), Decimal(f"{0.64 - 0.15 * exp(-n / 12):.4f}"), block, block, room, "") for n in range(90)
    ]
    judge_trace(trace_of_samples(tuple(samples)), DEFAULT_CRITERION, 1e-4, ended=True)


def _compiled_and_read() -> None:
    words = [sys.executable, "-m", "isohume.outlets.serve.warm"]
    subprocess.run(words, check=False, timeout=WITHIN_S, stdin=subprocess.DEVNULL)
    warm()


def main() -> None:
    """Compile for those who come after, behind whatever else the computer does."""
    follow_parent_process()
    if hasattr(os, "nice"):
        os.nice(NICE)
    warm()


if __name__ == "__main__":
    main()
