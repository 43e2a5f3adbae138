"""One line, read by the rule: a pure function, the same for the agent, for `--try` and for tests."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import Any

from isohume.outlets.capture.pattern import LONGEST_LINE, Pattern, SlowPatternError
from isohume.outlets.capture.rule import InstrumentRule, LineRule
from isohume.outlets.capture.values import (
    NotTakenError,
    elapsed_text,
    fraction_text,
    temperature_text,
    words_text,
)

LONGEST_NUMBER, LONGEST_STATE = 40, 60
NUMERIC = ("elapsed_s", "a_w", "sample_temperature_c", "block_temperature_c", "room_humidity")


@dataclass(frozen=True, slots=True)
class LineRead:
    """What a line was read as. `reason` says why it could not be read; values are text, '' where not given."""

    text: str
    ignored: bool = False
    starts: bool = False
    ends: bool = False
    number: str = ""
    state: str = ""
    elapsed_s: str = ""
    a_w: str = ""
    sample_temperature_c: str = ""
    block_temperature_c: str = ""
    room_humidity: str = ""
    reason: str = ""

    @property
    def is_reading(self) -> bool:
        """Whether it holds a water activity."""
        return bool(self.a_w)

    def values(self) -> dict[str, str]:
        """What was given, by name, without the empty ones."""
        names = (*NUMERIC, "state", "number")
        return {name: value for name in names if (value := str(getattr(self, name)))}

    def kept(self) -> dict[str, Any]:
        """As JSON keeps it."""
        return {key: value for key, value in asdict(self).items() if value}


def read_line(raw: bytes | str, rule: InstrumentRule) -> LineRead:
    """What a line says by the rule; never an exception, whatever the line holds."""
    text, reason = decoded(raw, rule.line.encoding)
    if reason:
        return LineRead(text, reason=reason)
    try:
        return _read(text, rule)
    except NotTakenError as error:
        return LineRead(shown(text), reason=str(error))
    except SlowPatternError as error:
        return LineRead(shown(text), reason=f"given up: the pattern {error} takes too long on this line")


def decoded(raw: bytes | str, encoding: str) -> tuple[str, str]:
    """The text of a line without its end, and why it is no text."""
    if isinstance(raw, bytes):
        try:
            text = raw.decode(encoding)
        except UnicodeDecodeError:
            return shown(raw.decode("ascii", "backslashreplace")), f"not {encoding}"
    else:
        text = raw
    text = text.strip("\r\n\0\ufeff")
    if len(text) > LONGEST_LINE:
        return shown(text), f"a line of {len(text)} characters; at most {LONGEST_LINE} are read"
    return text, ""


def shown(text: str) -> str:
    """A line as it is kept: what cannot be printed is written out, and its length is bounded."""
    plain = "".join(c if c.isprintable() or c == "\t" else c.encode("unicode_escape").decode("ascii") for c in text)
    return plain[:LONGEST_LINE]


def _read(text: str, rule: InstrumentRule) -> LineRead:
    if not text.strip() or any(pattern.search(text) is not None for pattern in rule.line.ignore):
        return LineRead(shown(text), ignored=True)
    begun, over = _found(rule.run.start, text), _found(rule.run.end, text)
    parts = {**(over or {}), **(begun or {})}
    matched = begun is not None or over is not None
    for pattern in rule.line.patterns:
        found = pattern.search(text)
        if found is not None:
            matched, parts = True, {**parts, **found}
            break
    if not matched:
        return LineRead(shown(text), reason="no pattern of the rule is in this line")
    given = _taken(parts, rule.line)
    return LineRead(shown(text), starts=begun is not None, ends=over is not None, **given)


def _found(pattern: Pattern | None, text: str) -> dict[str, str] | None:
    return None if pattern is None else pattern.search(text)


def _taken(parts: dict[str, str], rule: LineRule) -> dict[str, Any]:
    """The values of the named parts; an empty part is not given."""
    taken = {}
    for name, text in parts.items():
        if text.strip():
            taken[name] = _value(name, text, rule)
    return taken


def _value(name: str, text: str, rule: LineRule) -> str:
    if name in ("a_w", "room_humidity"):
        return fraction_text(text, name, rule.decimal, name in rule.percent)
    if name == "elapsed_s":
        return elapsed_text(text, name, rule.decimal)
    if name.endswith("temperature_c"):
        return temperature_text(text, name, rule.decimal)
    return words_text(text, name, LONGEST_NUMBER if name == "number" else LONGEST_STATE)
