"""The scripted day of the capture proof: the invented instrument at a port, and files dropped into a folder.

Both live in the proof's own process and are never killed: what they gave is what the record must hold.
"""

from __future__ import annotations

import random
import threading
import time
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from isohume.outlets.capture.instrument.cup import KINDS, Cup, Shown, readings_of
from isohume.outlets.capture.instrument.machine import Machine
from isohume.outlets.capture.instrument.program import Port, demo_rule, run_instrument

LINE, FOLDER = "OW-1", "OW-2"  # two instruments of the demonstration plant
SECONDS, EVERY_S, PACE = 120.0, 2.0, 40.0
MOST_RUNS = 20_000
FOLDER_RULE = """
[[instrument]]
name = "{name}"
[instrument.source]
kind = "folder"
folder = "{folder}"
pattern = "*.txt"
[instrument.line]
decimal = ","
percent = true
ignore = ['^bench file']
patterns = [
  '^at (?P<elapsed_s>[\\d,]+); (?P<a_w>[\\d,]+) %; (?P<sample_temperature_c>[\\d,]+) C; \
block (?P<block_temperature_c>[\\d,]+) C; room (?P<room_humidity>[\\d,]+) %; (?P<state>\\w+)$',
]
[instrument.run]
start = '^run (?P<number>\\d+)$'
end = '^over (?P<number>\\d+)$'
silence_s = 3600
"""


@dataclass(frozen=True)
class RunGiven:
    """One run as it was given, or as the record holds it."""

    number: str
    readings: tuple[tuple[str, ...], ...]  # elapsed, a_w, sample, block, room, state
    end: str = "end line"


def cups(chance: random.Random) -> Iterator[Cup]:
    """What is laid in, all kinds of it."""
    for _ in range(MOST_RUNS):
        yield Cup(round(chance.uniform(0.2, 0.95), 4), chance.choice(KINDS), SECONDS)


class Day:
    """Both sources, until `end`."""

    def __init__(self, folder: Path, seed: int) -> None:
        self._seed, self._stop = seed, threading.Event()
        self.port, self.files = Port(folder / "port"), folder / "dropped"
        self.files.mkdir()
        made = cups(random.Random(seed))
        self.machine = Machine(made, seed, gap_s=4 / PACE, every_s=EVERY_S, most_held=MOST_RUNS)
        self._writer = FileWriter(self.files, seed, self._stop)
        self._ending = threading.Event()
        self._threads = [threading.Thread(target=self._instrument), threading.Thread(target=self._writer.run)]
        (folder / "rule.toml").write_text(self._rule(folder), encoding="utf-8")
        for thread in self._threads:
            thread.start()

    def _rule(self, folder: Path) -> str:
        line = demo_rule(str(folder / "port"), LINE).replace("[instrument]", "[[instrument]]")
        for table in ("source", "line", "run"):
            line = line.replace(f"\n[{table}]", f"\n[instrument.{table}]")
        return line + FOLDER_RULE.replace("{name}", FOLDER).replace("{folder}", str(self.files))

    def _instrument(self) -> None:
        run_instrument(self.machine, self.port, PACE, self._over, look_s=0.01, hands=False)

    def _over(self) -> bool:
        return self._ending.is_set()

    def no_more(self) -> None:
        """The runs that go on are ended, and no other begins."""
        self._stop.set()
        self.machine.no_more()
        while not self.machine.is_done or self._writer.is_alive:
            time.sleep(0.05)

    def end(self) -> None:
        """Let go of the port."""
        self._stop.set()
        self._ending.set()
        for thread in self._threads:
            thread.join()
        self.port.close()

    def given(self) -> dict[str, list[RunGiven]]:
        """What the record must hold."""
        line = [RunGiven(held.number, tuple(map(_row, held.readings))) for held in self.machine.held]
        return {LINE: line, FOLDER: self._writer.given}


def _row(shown: Shown) -> tuple[str, ...]:
    return (
        shown.elapsed_s,
        shown.a_w,
        shown.sample_temperature_c,
        shown.block_temperature_c,
        shown.room_humidity,
        shown.state,
    )


class FileWriter:
    """Writes runs into files: by halves of lines, several runs a file, files renamed while they grow."""

    def __init__(self, folder: Path, seed: int, stop: threading.Event) -> None:
        self._folder, self._seed, self._stop = folder, seed, stop
        self._chance = random.Random(seed + 1)
        self.given: list[RunGiven] = []
        self.is_alive = True

    def run(self) -> None:
        """Until it is stopped, and then to the end of the run."""
        number, made = 0, cups(random.Random(self._seed + 2))
        while not self._stop.is_set():
            path = self._folder / f"file-{number:05d}.txt"
            with path.open("ab", buffering=0) as file:
                self._write(file.fileno(), b"bench file\r\n")
                for _ in range(self._chance.randint(1, 3)):
                    number += 1
                    self._run(file.fileno(), number, next(made))
                    if self._chance.random() < 0.3:  # as a program that turns its files over does
                        path = path.rename(path.with_name(f"{path.stem}-turned-over.txt"))
        self.is_alive = False

    def _run(self, place: int, number: int, cup: Cup) -> None:
        self._write(place, f"run {number:06d}\r\n".encode())
        rows = []
        for shown in readings_of(cup, self._seed + 3, number, EVERY_S):
            row = _row(shown)
            rows.append(row)
            elapsed, a_w, sample, block, room, state = row
            a_w, room = (f"{float(one) * 100:.{len(one) - 4}f}" for one in (a_w, room))
            line = f"at {elapsed}; {a_w} %; {sample} C; block {block} C; room {room} %; {state}\r\n"
            self._write(place, line.replace(".", ",").encode())
            time.sleep(EVERY_S / PACE)
        self._write(place, f"over {number:06d}\r\n".encode())
        self.given.append(RunGiven(f"{number:06d}", tuple(rows)))

    def _write(self, place: int, data: bytes) -> None:
        import os

        cut = self._chance.randint(1, len(data) - 1) if self._chance.random() < 0.3 else len(data)
        os.write(place, data[:cut])
        if data[cut:]:
            time.sleep(0.01)
            os.write(place, data[cut:])
