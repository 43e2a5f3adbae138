"""What was read before: by it, what an instrument says twice is known."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Protocol

from isohume.outlets.capture.entry import Entry


@dataclass(frozen=True, slots=True)
class KnownRun:
    """A run of the spool; `ended` is the reason of its end, '' while it goes on."""

    key: str
    number: str
    ended: str = ""


class Known(Protocol):
    """What a reader of runs asks about the past, and is told."""

    def new_key(self) -> str:
        """A name for a run that no other run of the spool has or had."""

    def run(self, instrument: str, number: str) -> KnownRun | None:
        """The latest run of an instrument with this number."""

    def readings(self, key: str) -> dict[str, str]:
        """The water activities of a run by the instrument's own elapsed time, as written."""

    def remember(self, entry: Entry) -> None:
        """An entry was made."""


class Remembered:
    """Runs held in memory: for `--try`, and for what the spool has not written yet."""

    def __init__(self) -> None:
        self._keys = 0
        self._runs: dict[tuple[str, str], KnownRun] = {}
        self._ended: dict[str, str] = {}
        self._readings: dict[str, dict[str, str]] = {}

    def new_key(self) -> str:
        """Counted up."""
        self._keys += 1
        return f"run-{self._keys:06d}"

    def run(self, instrument: str, number: str) -> KnownRun | None:
        """The latest of that number."""
        found = self._runs.get((instrument, number))
        return None if found is None else replace(found, ended=self.ended(found.key))

    def ended(self, key: str) -> str:
        """Why a run ended; '' where nothing is remembered of its end."""
        return self._ended.get(key, "")

    def readings(self, key: str) -> dict[str, str]:
        """Elapsed time to water activity."""
        return dict(self._readings.get(key, {}))

    def remember(self, entry: Entry) -> None:
        """Keep what is asked for."""
        if entry.kind == "start":
            number = entry.values.get("number", "")
            self._runs[(entry.instrument, number)] = KnownRun(entry.run, number)
        elif entry.kind == "reading":
            self._readings.setdefault(entry.run, {})[entry.values["elapsed_s"]] = entry.values["a_w"]
        elif entry.kind == "end":
            self._ended[entry.run] = entry.reason
