"""Two clocks: the wall's, which people set, and a steady one that nobody does. A trace is timed by the steady one."""

from __future__ import annotations

import hashlib
import time
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

STEP_S = 2.0  # a wall clock that moves by less is being kept right, not set
BOOT = Path("/proc/sys/kernel/random/boot_id")


@dataclass(frozen=True, slots=True)
class Moment:
    """One instant on both clocks; the steady one counts from the computer's start, which `boot` names."""

    wall_ms: int
    steady: float
    boot: str

    @property
    def at(self) -> str:
        """The wall's time, ISO 8601 in UTC."""
        moment = datetime.fromtimestamp(self.wall_ms / 1000, UTC)
        return moment.isoformat(timespec="milliseconds").replace("+00:00", "Z")

    @property
    def steady_text(self) -> str:
        """The steady clock, as it is sent."""
        return f"{self.steady:.3f}"

    @property
    def boot_name(self) -> str:
        """The computer's present run, as it is sent: a digest, for it only has to be told from another."""
        return hashlib.sha256(self.boot.encode()).hexdigest()[:12]

    def earlier(self, seconds: float) -> Moment:
        """So many seconds before."""
        return Moment(self.wall_ms - round(seconds * 1000), self.steady - seconds, self.boot)

    @property
    def offset_s(self) -> float:
        """The wall's clock less the steady one: constant until somebody sets the clock."""
        return self.wall_ms / 1000 - self.steady


class Clock:
    """The computer's clocks; tests bring their own."""

    def __init__(self) -> None:
        self._boot = _boot()

    def now(self) -> Moment:
        """This instant."""
        return Moment(round(time.time() * 1000), _steady(), self._boot)


def _steady() -> float:
    """Seconds since the computer's start, sleep included where the system counts it."""
    if hasattr(time, "CLOCK_BOOTTIME"):
        return time.clock_gettime(time.CLOCK_BOOTTIME)
    return time.monotonic()


def _boot() -> str:
    """A name of the computer's present run; where the system has none, each process is taken as a new one."""
    try:
        return BOOT.read_text(encoding="ascii").strip()
    except OSError:
        return f"process begun at {time.time_ns()}"


def seconds_between(before: Moment, after: Moment) -> tuple[float, bool]:
    """Seconds from one moment to a later one, and whether the steady clock said so."""
    if before.boot == after.boot:
        return after.steady - before.steady, True
    return max(0.0, (after.wall_ms - before.wall_ms) / 1000), False


def step_words(before_s: float, after_s: float) -> str:
    """What was done to the wall's clock between two offsets; '' where nothing was."""
    step = after_s - before_s
    if abs(step) < STEP_S:
        return ""
    return f"this computer's clock was set {'forward' if step > 0 else 'back'} by {abs(step):.0f} s"
