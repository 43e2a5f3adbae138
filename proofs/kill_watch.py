"""Watching a process from outside: when does it hold SQLite's write lock, and stopping it dead at a moment.

In write-ahead mode a writer holds a lock on byte 120 of the -shm file from BEGIN IMMEDIATE until its COMMIT is
durable; Linux lists it in /proc/locks. The watched program is not changed in any way.
"""

from __future__ import annotations

import os
import signal
import subprocess
import time
from dataclasses import dataclass, field
from pathlib import Path

from isohume.bench.record.tables import DATABASE

WRITE_LOCK_BYTE = b" 120 120"


@dataclass
class Watched:
    """A started command with its output going to files."""

    command: list[str]
    data: Path
    output: Path
    process: subprocess.Popen[bytes] = field(init=False)
    started: float = field(init=False)

    def __post_init__(self) -> None:
        with self.output.open("wb") as out, self.output.with_suffix(".err").open("wb") as err:
            self.process = subprocess.Popen(self.command, stdout=out, stderr=err, stdin=subprocess.DEVNULL)
        self.started = time.perf_counter()
        self._mark = b" %d " % self.process.pid

    def elapsed(self) -> float:
        """Seconds since the start."""
        return time.perf_counter() - self.started

    def ended(self) -> bool:
        """Whether it has ended by itself."""
        return self.process.poll() is not None

    def holds_write_lock(self) -> bool:
        """Whether it is between BEGIN and the end of COMMIT."""
        with open("/proc/locks", "rb", buffering=0) as locks:
            listed = locks.read(65536)
        if WRITE_LOCK_BYTE not in listed:
            return False
        inode = b":%d" % self._index_inode()
        return any(
            self._mark in line and inode in line and line.endswith(WRITE_LOCK_BYTE) for line in listed.split(b"\n")
        )

    def _index_inode(self) -> int:
        try:
            return os.stat(self.data / f"{DATABASE}-shm").st_ino
        except FileNotFoundError:
            return 0

    def replied(self) -> bool:
        """Whether its whole answer is out: one JSON object and the end of the line."""
        return self.output.read_bytes().rstrip(b" ").endswith(b"}\n")

    def stop(self) -> bool:
        """Freeze it with SIGSTOP; false if it has ended before."""
        if self.ended():
            return False
        self.process.send_signal(signal.SIGSTOP)
        while True:
            try:
                state = Path(f"/proc/{self.process.pid}/stat").read_bytes().rpartition(b") ")[2][:1]
            except FileNotFoundError:
                return False
            if state in b"Tt":
                return True
            if state in b"ZX":
                return False

    def kill(self) -> None:
        """SIGKILL, and wait for the end."""
        self.process.kill()
        self.process.wait()


@dataclass(frozen=True)
class Timeline:
    """When things happen in an undisturbed run, in seconds from the start."""

    begin: float
    commit: float
    reply: float

    def describe(self) -> str:
        """One line for the report."""
        return (
            f"write lock first held at {1e3 * self.begin:.0f} ms, COMMIT durable at {1e3 * self.commit:.1f} ms, "
            f"reply at {1e3 * self.reply:.0f} ms"
        )


def watched_to_the_end(watched: Watched) -> Timeline:
    """Let a command run and note when it first held the write lock, last let go of it, and replied.

    SQLite also takes the lock for an instant when it opens a database whose log has no index yet; that instant may or
    may not be seen. So the write ends with the last release, not with the first.
    """
    first = last = 0.0
    held_before = False
    while not watched.ended():
        held = watched.holds_write_lock()
        if held and not first:
            first = watched.elapsed()
        if held_before and not held:
            last = watched.elapsed()
        held_before = held
    reply = watched.elapsed()
    return Timeline(first or reply, last or first or reply, reply)


def wait_for_lock(watched: Watched, limit_s: float) -> None:
    """Wait until the write lock is held for the first time, or the end, or the limit."""
    while not watched.ended() and watched.elapsed() < limit_s and not watched.holds_write_lock():
        pass
