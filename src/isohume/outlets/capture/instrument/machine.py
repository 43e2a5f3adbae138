"""The invented instrument without its port: time goes on, cups come and go, lines are said, runs are kept."""

from __future__ import annotations

import re
from collections import deque
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field

from isohume.outlets.capture.instrument.cup import BLOCK_C, EVERY_S, Cup, Shown, readings_of

GAP_S, IDLE_S, WARM_UP_S = 20.0, 30.0, 60.0
MOST_HELD = 400
TELL = re.compile(r"tell from (\d{1,9})")


@dataclass(slots=True)
class Held:
    """A run as the instrument keeps it."""

    number: str
    cup: Cup
    begun_s: float
    readings: list[Shown] = field(default_factory=list)
    ended_after_s: float | None = None

    def lines(self) -> Iterator[str]:
        """The run, said again; word for word as it was said first."""
        yield f"cup {self.number} laid in"
        for shown in self.readings:
            yield reading_line(self.number, shown)
        if self.ended_after_s is not None:
            yield f"cup {self.number} taken out after {self.ended_after_s:.1f} s"


def reading_line(number: str, shown: Shown) -> str:
    """One reading as a line."""
    return (
        f"cup {number}; {shown.elapsed_s} s; water {shown.a_w}; cup {shown.sample_temperature_c}; "
        f"block {shown.block_temperature_c}; room {shown.room_humidity}; {shown.state}"
    )


class Machine:
    """Its own time starts at 0; `advance` says what it says on the way to a moment."""

    def __init__(
        self,
        cups: Iterable[Cup],
        seed: int,
        gap_s: float = GAP_S,
        every_s: float = EVERY_S,
        most_held: int = MOST_HELD,
    ) -> None:
        self._waiting, self._seed, self._gap_s, self._every_s = deque(cups), seed, gap_s, every_s
        self.held: deque[Held] = deque(maxlen=most_held)
        self._run: Held | None = None
        self._coming: Iterator[Shown] = iter(())
        self._count, self._now = 0, 0.0
        self._next, self._idle = gap_s, 0.0

    @property
    def is_done(self) -> bool:
        """Whether no cup is in it and none waits."""
        return self._run is None and not self._waiting

    def advance(self, to: float) -> list[str]:
        """What is said until that moment, in order."""
        said = []
        while (at := self._next_event()) <= to:
            self._now = at
            said += self._step()
        self._now = max(self._now, to)
        return said

    def answer(self, command: str) -> list[str]:
        """What a command makes it say at once; nothing where it does not know the command."""
        found = TELL.fullmatch(command.strip())
        if found is None:
            return []
        wanted = int(found.group(1))
        said = [f"telling from {wanted:04d}"]
        for held in self.held:
            if int(held.number) >= wanted:
                said += held.lines()
        return said

    def lay_in(self, cup: Cup) -> None:
        """Put a cup in: now where it is empty, else after the one that is in it."""
        self._waiting.append(cup)
        if self._run is None:
            self._next = self._now

    def no_more(self) -> None:
        """Cups that wait are put away; the one that is in it stays."""
        self._waiting.clear()

    def take_out(self) -> None:
        """Open the lid before the run is over."""
        if self._run is not None:
            self._coming, self._next = iter(()), self._now

    def _next_event(self) -> float:
        if self.is_done:
            return self._idle
        return self._next if self._run is not None else min(self._next, self._idle)

    def _step(self) -> list[str]:
        if self._run is not None:
            return self._measure(self._run)
        if not self._waiting or self._idle < self._next:
            state = "warmed" if self._now >= WARM_UP_S else "warming"
            self._idle = self._now + IDLE_S
            return [f"resting; block {BLOCK_C - max(0.0, 3 - self._now / 20):.2f}; {state}"]
        self._count += 1
        run = Held(f"{self._count:04d}", self._waiting.popleft(), self._now)
        self._run, self._coming = run, readings_of(run.cup, self._seed, self._count, self._every_s)
        self.held.append(run)
        return [f"cup {run.number} laid in"]

    def _measure(self, run: Held) -> list[str]:
        shown = next(self._coming, None)
        if shown is not None:
            run.readings.append(shown)
            self._next = run.begun_s + float(shown.elapsed_s) + self._every_s
            return [reading_line(run.number, shown)]
        run.ended_after_s = self._now - run.begun_s
        self._run, self._next, self._idle = None, self._now + self._gap_s, self._now + 1
        return [f"cup {run.number} taken out after {run.ended_after_s:.1f} s"]
