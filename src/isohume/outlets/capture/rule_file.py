"""Reads a rule file (TOML), strictly: every refusal names the file, the key, the value and what is allowed."""

from __future__ import annotations

import codecs
import tomllib
from pathlib import Path
from typing import Any

from isohume.bench.record.toml_section import Section
from isohume.foundation.quantity.errors import InputError
from isohume.outlets.capture.pattern import Pattern, read_pattern
from isohume.outlets.capture.rule import (
    GROUPS,
    FolderSource,
    InstrumentRule,
    LineRule,
    Rule,
    RunRule,
    SerialSource,
    Source,
    StandardInput,
)

LARGEST_BYTES = 1_000_000
MOST_INSTRUMENTS, MOST_PATTERNS = 200, 20
LONGEST_PORT, LONGEST_COMMAND = 300, 200
RUN_GROUPS = ("number", "elapsed_s", "state")
PERCENT = ("a_w", "room_humidity")
TABLES = ("source", "line", "run")
PARITIES, FLOWS = ("none", "even", "odd"), ("none", "xonxoff", "rtscts")
LEAST_SILENCE_S, MOST_SILENCE_S = 1, 86400


def read_rule(path: Path) -> Rule:
    """The rule in a file.

    Raises: InputError.
    """
    try:
        return rule_of(_load(path))
    except InputError as error:
        raise error.at(file=error.file or path.name) from None


def _load(path: Path) -> dict[str, Any]:
    if path.stat().st_size > LARGEST_BYTES:
        raise InputError("rule", path.name, f"a file of at most {LARGEST_BYTES} bytes")
    try:
        return tomllib.loads(path.read_bytes().decode("utf-8-sig"))
    except UnicodeDecodeError:
        raise InputError("rule", path.name, "text in UTF-8") from None
    except (tomllib.TOMLDecodeError, RecursionError) as error:
        hint = "; patterns stand best in 'single quotes', where a backslash is itself"
        raise InputError("rule", path.name, f"TOML ({error}){hint}") from None


def rule_of(content: dict[str, Any]) -> Rule:
    """A rule from what TOML read: one [instrument], or several [[instrument]] that share the top tables.

    Raises: InputError.
    """
    top = Section("", content)
    shared = {name: top.raw(name) or {} for name in TABLES}
    for name, table in shared.items():
        Section(name, table)
    given = top.raw("instrument")
    if isinstance(given, list):
        parts = top.sections("instrument")
    elif given is None:
        raise InputError("instrument", "nothing", "a table [instrument] with a name, or several [[instrument]]")
    else:
        parts = [Section("instrument", given)]
    top.close()
    if not 1 <= len(parts) <= MOST_INSTRUMENTS:
        raise InputError("instrument", f"{len(parts)} tables", f"1 to {MOST_INSTRUMENTS}")
    found = tuple(_instrument(part, shared) for part in parts)
    _apart(found)
    return Rule(found)


def _instrument(part: Section, shared: dict[str, dict[str, Any]]) -> InstrumentRule:
    name = part.text("name", most=60)
    tables = {}
    for table in TABLES:
        own = part.raw(table) or {}
        field = part.field(table) if own else table
        Section(field, own)
        tables[table] = Section(field, {**shared[table], **own})
    part.close()
    line, run, source = _line(tables["line"]), _run(tables["run"]), _source(tables["source"])
    rule = InstrumentRule(name, source, line, run)
    _holds_together(rule, tables)
    return rule


def _line(table: Section) -> LineRule:
    patterns = _patterns(table, "patterns", GROUPS)
    if not any("a_w" in pattern.groups for pattern in patterns):
        raise InputError(table.field("patterns"), "no (?P<a_w>...)", "at least one pattern that names a_w")
    encoding = table.text("encoding", "utf-8", most=40)
    try:
        one_byte = "A1\n".encode(codecs.lookup(encoding).name) == b"A1\n"
    except (LookupError, UnicodeError):
        one_byte = False
    if not one_byte:
        raise InputError(table.field("encoding"), encoding, "an encoding that holds ASCII, such as utf-8 or latin-1")
    rule = LineRule(
        patterns,
        _patterns(table, "ignore", ()),
        table.choice("decimal", (".", ","), "."),
        _percent(table),
        encoding,
    )
    table.close()
    return rule


def _patterns(table: Section, key: str, groups: tuple[str, ...]) -> tuple[Pattern, ...]:
    value = table.raw(key)
    listed = [value] if isinstance(value, str) else value
    if listed is None:
        return ()
    if not isinstance(listed, list) or len(listed) > MOST_PATTERNS:
        raise InputError(table.field(key), value, f"a list of at most {MOST_PATTERNS} regular expressions")
    return tuple(read_pattern(text, table.field(key), groups) for text in listed)


def _percent(table: Section) -> frozenset[str]:
    value = table.raw("percent")
    if value is None or value is False:
        return frozenset()
    if value is True:
        return frozenset(PERCENT)
    if not isinstance(value, list) or not set(map(str, value)) <= set(PERCENT):
        raise InputError(table.field("percent"), value, 'true, false, or a list of "a_w" and "room_humidity"')
    return frozenset(value)


def _run(table: Section) -> RunRule:
    start, end = (
        read_pattern(table.raw(key), table.field(key), RUN_GROUPS) if table.has(key) else None
        for key in ("start", "end")
    )
    silence = table.decimal("silence_s")
    if silence is not None and not LEAST_SILENCE_S <= silence <= MOST_SILENCE_S:
        raise InputError(table.field("silence_s"), silence, f"seconds, {LEAST_SILENCE_S} to {MOST_SILENCE_S}")
    table.close()
    return RunRule(start, end, 120.0 if silence is None else float(silence))


def _source(table: Section) -> Source:
    kind = table.choice("kind", ("serial", "folder", "stdin"))
    source: Source
    if kind == "serial":
        source = _serial(table)
    elif kind == "folder":
        source = FolderSource(table.text("folder", most=1000), table.text("pattern", "*"))
    else:
        source = StandardInput()
    table.close()
    return source


def _serial(table: Section) -> SerialSource:
    if table.has("port") and table.has("url"):
        raise InputError(table.field("url"), table.raw("url"), "port or url, not both")
    key = "url" if table.has("url") else "port"
    stop_bits = table.raw("stop_bits")
    if stop_bits not in (None, 1, 1.5, 2) or isinstance(stop_bits, bool):
        raise InputError(table.field("stop_bits"), stop_bits, "1, 1.5 or 2")
    answer = read_pattern(table.raw("answer"), table.field("answer"), ()) if table.has("answer") else None
    repeat_from = _command(table, "repeat_from")
    if answer is not None and not repeat_from:
        raise InputError(table.field("answer"), answer.text, "an answer only where repeat_from asks for one")
    return SerialSource(
        table.text(key, most=LONGEST_PORT),
        _whole(table, "baud", 9600, 50, 4_000_000),
        _whole(table, "bits", 8, 5, 8),
        table.choice("parity", PARITIES, "none"),
        1 if stop_bits is None else float(stop_bits),
        table.choice("flow", FLOWS, "none"),
        _command(table, "on_connect"),
        repeat_from,
        answer,
    )


def _whole(table: Section, key: str, default: int, low: int, high: int) -> int:
    value = table.raw(key)
    if value is None:
        return default
    if not isinstance(value, int) or isinstance(value, bool) or not low <= value <= high:
        raise InputError(table.field(key), value, f"a whole number, {low} to {high}")
    return value


def _command(table: Section, key: str) -> str:
    """What is sent to the instrument: as typed, with its line end."""
    value = table.raw(key)
    if value is None:
        return ""
    if not isinstance(value, str) or not value or len(value) > LONGEST_COMMAND:
        raise InputError(table.field(key), value, f'a text of at most {LONGEST_COMMAND} characters, as "say\\r\\n"')
    return value


def _holds_together(rule: InstrumentRule, tables: dict[str, Section]) -> None:
    """What would lose or double readings is refused with the rule, not found out at night."""
    source = rule.source
    if isinstance(source, FolderSource) and not rule.has_clock:
        allowed = "a pattern that names elapsed_s: a file does not say when its lines were written"
        raise InputError(tables["line"].field("patterns"), "no (?P<elapsed_s>...)", allowed)
    if isinstance(source, SerialSource) and source.repeats:
        numbered = rule.number_in_readings or (rule.run.start is not None and "number" in rule.run.start.groups)
        numbered = numbered or any("number" in p.groups for p in rule.line.patterns if "a_w" not in p.groups)
        if not (numbered and rule.has_clock):
            allowed = "repeat_from only where patterns name number and elapsed_s: by them is known what was said before"
            raise InputError(tables["source"].field("repeat_from"), source.repeat_from, allowed)


def _apart(instruments: tuple[InstrumentRule, ...]) -> None:
    """No name twice, and no source that two would read: each line goes to one instrument."""
    names, places = set[str](), set[str]()
    for one in instruments:
        source = one.source
        if one.name.casefold() in names:
            raise InputError("instrument.name", one.name, "each name once")
        names.add(one.name.casefold())
        if isinstance(source, SerialSource):
            place = source.port
        elif isinstance(source, FolderSource):
            place = f"{source.folder}/{source.pattern}"
        else:
            place = "standard input"
        if place in places:
            raise InputError("source", place, f"a source of its own for {one.name}: another instrument has this one")
        places.add(place)
