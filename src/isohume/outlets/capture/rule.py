"""The laboratory's rule: where an instrument's lines come from, and how one is read."""

from __future__ import annotations

from dataclasses import dataclass

from isohume.outlets.capture.pattern import Pattern

GROUPS = (
    "a_w",
    "elapsed_s",
    "sample_temperature_c",
    "block_temperature_c",
    "room_humidity",
    "state",
    "number",
)
"""What a pattern may name in a line."""


@dataclass(frozen=True, slots=True)
class SerialSource:
    """A serial line, or one behind socket:// or rfc2217://."""

    port: str
    baud: int = 9600
    bits: int = 8
    parity: str = "none"
    stop_bits: float = 1
    flow: str = "none"
    on_connect: str = ""
    repeat_from: str = ""
    answer: Pattern | None = None

    @property
    def repeats(self) -> bool:
        """Whether the instrument can be asked to say again what it holds."""
        return bool(self.repeat_from)


@dataclass(frozen=True, slots=True)
class FolderSource:
    """A folder into which files are dropped, or in which they grow."""

    folder: str
    pattern: str = "*"

    @property
    def repeats(self) -> bool:
        """A file stays: what was not read yet is read later."""
        return True


@dataclass(frozen=True, slots=True)
class StandardInput:
    """Lines that another program pipes in."""

    @property
    def repeats(self) -> bool:
        """What was not read is gone."""
        return False


Source = SerialSource | FolderSource | StandardInput


@dataclass(frozen=True, slots=True)
class LineRule:
    """How a line is read: patterns with named groups, the first that is found counts."""

    patterns: tuple[Pattern, ...]
    ignore: tuple[Pattern, ...] = ()
    decimal: str = "."
    percent: frozenset[str] = frozenset()
    encoding: str = "utf-8"


@dataclass(frozen=True, slots=True)
class RunRule:
    """Where a run begins and ends."""

    start: Pattern | None = None
    end: Pattern | None = None
    silence_s: float = 120.0


@dataclass(frozen=True, slots=True)
class InstrumentRule:
    """One instrument: its name in the register, its source, its lines, its runs."""

    name: str
    source: Source
    line: LineRule
    run: RunRule

    @property
    def has_clock(self) -> bool:
        """Whether the instrument itself says how long a run has gone on."""
        return any("elapsed_s" in pattern.groups for pattern in self.line.patterns)

    @property
    def number_in_readings(self) -> bool:
        """Whether every reading says of which run it is."""
        readings = [pattern for pattern in self.line.patterns if "a_w" in pattern.groups]
        return bool(readings) and all("number" in pattern.groups for pattern in readings)


@dataclass(frozen=True, slots=True)
class Rule:
    """A rule file: one instrument or several."""

    instruments: tuple[InstrumentRule, ...]

    def named(self, name: str) -> InstrumentRule:
        """The instrument of that name."""
        return next(one for one in self.instruments if one.name == name)
