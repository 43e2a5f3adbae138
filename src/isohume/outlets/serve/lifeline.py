"""No process of the site outlives the one that started it: an orphan would hold the port and write beside the next one.

Two ways, because each has a gap: the kernel's own notice to a child (Linux), and the end of a pipe that only the
parent holds open (everywhere).
"""

from __future__ import annotations

import multiprocessing
import os
import signal
import sys
import threading
import time
from collections.abc import Callable

PR_SET_PDEATHSIG = 1  # linux/prctl.h
GRACE_S = 2.0


def follow_supervisor(*, at_once: bool = False) -> None:
    """For a process started by the supervisor: its standard input is a pipe that ends when the supervisor does.

    at_once: for work that is done again anyway; else what is in hand gets a moment to end.
    """
    _ask_kernel(signal.SIGKILL if at_once else signal.SIGTERM)
    _beside(lambda: _until_input_ends(0.0 if at_once else GRACE_S))


def follow_parent_process() -> None:
    """For a process that multiprocessing started: it ends at once when the one that started it is gone."""
    _ask_kernel(signal.SIGKILL)
    _beside(_until_parent_ends)


def _until_input_ends(grace_s: float) -> None:
    while os.read(0, 4096):
        pass
    if grace_s:
        os.kill(os.getpid(), signal.SIGTERM)
        time.sleep(grace_s)
    os._exit(1)


def _until_parent_ends() -> None:
    parent = multiprocessing.parent_process()
    if parent is not None:
        parent.join()
        os._exit(1)


def _beside(work: Callable[[], None]) -> None:
    threading.Thread(target=work, name="lifeline", daemon=True).start()


def _ask_kernel(number: signal.Signals) -> None:
    if sys.platform == "linux":
        import ctypes

        ctypes.CDLL(None).prctl(PR_SET_PDEATHSIG, int(number), 0, 0, 0)
