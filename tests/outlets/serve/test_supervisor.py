"""The supervisor: what ends by itself starts again, what cannot start is given up, nothing is left behind."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from isohume.outlets.serve import child as child_module
from isohume.outlets.serve.child import GaveUpError, Program, wait_before_restart
from isohume.outlets.serve.supervisor import Supervisor, stop_when_asked

Made = Callable[[str, str], Program]
Until = Callable[[Callable[[], bool], str], None]
Alive = Callable[[int], bool]
STAY = "import time; print('here'); time.sleep(600)"
DEAF = "import signal, time; signal.signal(signal.SIGTERM, signal.SIG_IGN); print('here'); time.sleep(600)"
# a program that starts another one, as the pages' server does
FAMILY = (
    "import subprocess, sys, time\n"
    "inner = subprocess.Popen([sys.executable, '-c', 'import time; time.sleep(600)'])\n"
    "print(f'inner {inner.pid}'); time.sleep(600)"
)


def inner_pid(log: Path) -> int | None:
    """The number of the process that a family's program started last."""
    said = [line for line in log.read_text(encoding="utf-8").splitlines() if " inner " in line]
    return int(said[-1].split()[-1]) if said else None


def test_a_killed_process_starts_again_and_the_others_stay(
    tmp_path: Path, program: Made, until: Until, is_alive: Alive
) -> None:
    with Supervisor([program("one", STAY), program("two", STAY)], tmp_path) as supervisor:
        one, two = supervisor.children
        killed, other = one.pid, two.pid
        assert killed
        os.kill(killed, signal.SIGKILL)

        def back() -> bool:
            supervisor.tend()
            return one.pid not in (None, killed)

        until(back, "a new process in place of the killed one")
        assert one.pid
        assert is_alive(one.pid)
        assert two.pid == other
    assert "ended by itself (signal SIGKILL)" in (tmp_path / "one.log").read_text(encoding="utf-8")


def test_what_a_killed_process_started_is_gone_before_its_successor_starts(
    tmp_path: Path, program: Made, until: Until, is_alive: Alive
) -> None:
    with Supervisor([program("web", FAMILY)], tmp_path) as supervisor:
        web = supervisor.children[0]
        until(lambda: inner_pid(web.log.path) is not None, "the inner process")
        inner, killed = inner_pid(web.log.path), web.pid
        assert inner
        assert killed
        os.kill(killed, signal.SIGKILL)
        until(lambda: supervisor.tend() or web.pid is None, "the end being noticed")
        until(lambda: not is_alive(inner), "the end of the inner process")


def test_a_program_that_cannot_start_is_given_up_with_its_last_words(
    tmp_path: Path, program: Made, until: Until, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(child_module, "MOST_FAILURES", 2)
    with (
        Supervisor(
            [program("web", "print('starting'); raise ImportError('no such module: site')")], tmp_path
        ) as supervisor,
        pytest.raises(
            GaveUpError,
            match=r"web process ended 3 times in a row .*last said: ImportError: no such module: site.*web\.log",
        ),
    ):
        until(lambda: bool(supervisor.tend()), "giving up")


def test_waits_grow_and_stay_below_their_limit() -> None:
    waits = [wait_before_restart(failures) for failures in range(1, 12)]
    assert waits[0] == child_module.FIRST_WAIT_S
    assert waits == sorted(waits)
    assert waits[-1] == child_module.LONGEST_WAIT_S


def test_stopping_ends_all_even_the_deaf(
    tmp_path: Path, program: Made, until: Until, is_alive: Alive, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("isohume.outlets.serve.supervisor.STOP_WITHIN_S", 0.3)
    with Supervisor([program("kind", STAY), program("deaf", DEAF), program("web", FAMILY)], tmp_path) as supervisor:
        logs = [child.log.path for child in supervisor.children]
        until(lambda: "here" in logs[1].read_text(encoding="utf-8"), "the deaf one")
        until(lambda: inner_pid(logs[2]) is not None, "the inner process")
        pids = [child.pid for child in supervisor.children] + [inner_pid(logs[2])]
    for pid in pids:
        assert pid
        until(lambda pid=pid: not is_alive(pid), f"the end of {pid}")
    assert "killed" in logs[1].read_text(encoding="utf-8")


SUPERVISED = """
import os, sys, time
from pathlib import Path
from isohume.outlets.serve.child import Program
from isohume.outlets.serve.supervisor import Supervisor, stop_when_asked
follow = "import time; from isohume.outlets.serve import lifeline as l; l.GRACE_S = 0.3; l.follow_supervisor(); "
follow += "print('here'); "
deaf = "import signal; signal.signal(signal.SIGTERM, signal.SIG_IGN); "
programs = [
    Program("tied", (sys.executable, "-c", follow + "time.sleep(600)"), dict(os.environ)),
    Program("at_once", (sys.executable, "-c", follow.replace("()", "(at_once=True)", 1) + deaf + "time.sleep(600)"),
            dict(os.environ)),
    Program("deaf", (sys.executable, "-c", follow + deaf + "print('deaf'); time.sleep(600)"), dict(os.environ)),
]
with stop_when_asked() as asked, Supervisor(programs, Path(sys.argv[1])) as supervisor:
    print(*(child.pid for child in supervisor.children), flush=True)
    while not asked.stop:
        supervisor.tend()
        time.sleep(0.05)
"""


@pytest.mark.parametrize("number", [signal.SIGKILL, signal.SIGTERM, signal.SIGINT, signal.SIGHUP])
def test_no_orphans_however_the_supervisor_ends(
    tmp_path: Path, until: Until, is_alive: Alive, number: signal.Signals
) -> None:
    """Killed, it can do nothing: its processes notice by themselves, also one that ignores the kernel's notice."""
    environment = {**os.environ, "PYTHONUNBUFFERED": "1"}
    with subprocess.Popen(
        [sys.executable, "-c", SUPERVISED, str(tmp_path)], stdout=subprocess.PIPE, text=True, env=environment
    ) as supervisor:
        assert supervisor.stdout
        pids = [int(word) for word in supervisor.stdout.readline().split()]
        assert len(pids) == 3
        until(lambda: "deaf" in (tmp_path / "deaf.log").read_text(encoding="utf-8"), "the deaf one")
        until(lambda: "here" in (tmp_path / "tied.log").read_text(encoding="utf-8"), "the tied one")
        assert all(map(is_alive, pids))
        supervisor.send_signal(number)
        status = supervisor.wait()
    assert status == (-number if number == signal.SIGKILL else 0)
    until(lambda: not any(map(is_alive, pids)), "the end of its processes")


def test_the_former_signal_handlers_come_back() -> None:
    before = signal.getsignal(signal.SIGTERM)
    with stop_when_asked() as asked:
        assert not asked.stop
        os.kill(os.getpid(), signal.SIGTERM)
        assert asked.stop
    assert signal.getsignal(signal.SIGTERM) is before
