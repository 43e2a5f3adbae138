"""What an agent sends: numbered entries as JSON, read exactly or refused with the entry's number, field and value."""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, datetime
from decimal import Decimal
from typing import Any

from isohume.bench.reading.settling.compact import Sample
from isohume.bench.record.entry_chain import chain_after
from isohume.foundation.quantity.errors import InputError

MOST_ENTRIES = 2000
KINDS = ("start", "reading", "end", "state", "unread")
OF_RUNS = KINDS[:3]
LONGEST = {"instrument": 60, "run": 40, "state": 60, "number": 40, "reason": 60, "line": 2000, "dated": 60}
LARGEST_WAITING = 10**9
_SPOOL = re.compile(r"[0-9a-f]{32}", re.ASCII)
_DIGEST = re.compile(r"[0-9a-f]{64}", re.ASCII)
_STEADY = re.compile(r"-?\d{1,12}(\.\d{1,6})?", re.ASCII)
_BOOT = re.compile(r"[0-9a-zA-Z-]{1,40}", re.ASCII)
_NUMBER = re.compile(r"-?\d{1,8}(\.\d{1,7})?", re.ASCII)
RANGES: dict[str, tuple[Decimal, Decimal, str]] = {
    "elapsed_s": (Decimal(0), Decimal(1209600), "seconds since the run began, 0 to 1209600"),
    "a_w": (Decimal(-1), Decimal(10), "a water activity as a fraction, a number from -1 to 10 as the instrument said"),
    "sample_temperature_c": (Decimal(-100), Decimal(300), "degC, -100 to 300"),
    "block_temperature_c": (Decimal(-100), Decimal(300), "degC, -100 to 300"),
    "room_humidity": (Decimal(-1), Decimal(10), "the room's relative humidity as a fraction"),
}


@dataclass(frozen=True, slots=True)
class Entry:
    """One numbered line of an agent's spool."""

    n: int
    kind: str
    instrument: str
    run: str
    at: datetime
    said: Mapping[str, str]  # the other texts: state, number, reason, line, dated
    sample: Sample | None  # of a reading
    block_temperature_c: str  # of a state
    steady: float | None = None  # seconds on a clock that nobody sets; None from an older agent
    boot: str = ""  # the name of that clock's run


@dataclass(frozen=True, slots=True)
class Chain:
    """The digests over a spool's entries in one request: before the first one, and after each."""

    before: str
    after: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Posted:
    """What came in one request, before anything is asked of the database."""

    spool: str
    now: datetime  # the agent's clock when it sent
    waiting: int
    entries: tuple[Entry, ...]
    steady: float | None = None  # the agent's steady clock when it sent
    boot: str = ""
    chain: Chain | None = None  # None from an older agent


def read_posted(body: bytes, key: str) -> Posted:
    """The request as an agent sent it.

    body: the JSON. key: the Idempotency-Key header, which says again what the entries are.
    Raises: InputError naming field, value, what is allowed and, in `row`, the entry's number.
    """
    try:
        given = json.loads(body)
    except (ValueError, RecursionError):
        raise InputError("body", body[:60].decode(errors="replace"), "JSON in UTF-8") from None
    if not isinstance(given, dict):
        raise InputError("body", type(given).__name__, "an object with spool, now, waiting and entries")
    entries = given.get("entries")
    if not isinstance(entries, list) or len(entries) > MOST_ENTRIES:
        raise InputError("entries", _size(entries), f"a list of at most {MOST_ENTRIES} entries")
    waiting = given.get("waiting", 0)
    if type(waiting) is not int or not 0 <= waiting <= LARGEST_WAITING:
        raise InputError("waiting", waiting, "how many entries wait at the agent, a whole number")
    found = Posted(
        read_spool(given.get("spool")),
        _moment(given.get("now"), "now"),
        waiting,
        tuple(_entry(one) for one in entries),
        *_steady(given),
        _chain(given, entries),
    )
    _in_order(found, key)
    return found


def read_spool(given: object) -> str:
    """The name of a spool: 32 hexadecimal digits."""
    if not (isinstance(given, str) and _SPOOL.fullmatch(given)):
        raise InputError("spool", given if given else "nothing", "32 hexadecimal digits in small letters")
    return given


def _chain(given: Mapping[str, Any], entries: list[Any]) -> Chain | None:
    """The digests, reckoned anew from what came and held against what the agent had written down with each entry."""
    before, last = given.get("chain_before", ""), given.get("chain_after", "")
    if not entries or before == last == "":
        return None
    for field, text in (("chain_before", before), ("chain_after", last)):
        if not (isinstance(text, str) and _DIGEST.fullmatch(text)):
            raise InputError(field, text or "nothing", "64 hexadecimal digits in small letters")
    after, digest = [], before
    try:
        for entry in entries:
            digest = chain_after(digest, entry)
            after.append(digest)
    except RecursionError:
        raise InputError("entries", "deep nesting", "entries whose values are texts") from None
    if digest != last:
        raise InputError("chain_after", last, f"{digest}, as the entries are: one is not what the agent wrote down")
    return Chain(before, tuple(after))


def _steady(given: Mapping[str, Any]) -> tuple[float | None, str]:
    """The steady clock and the name of its run; both or neither."""
    text, boot = given.get("steady", ""), given.get("boot", "")
    if text == boot == "":
        return None, ""
    if not (isinstance(text, str) and _STEADY.fullmatch(text)):
        raise InputError("steady", text or "nothing", "seconds on the agent's steady clock, as text")
    if not (isinstance(boot, str) and _BOOT.fullmatch(boot)):
        raise InputError("boot", boot or "nothing", "the name of the steady clock's run, 1 to 40 letters and digits")
    return float(text), boot


def _size(entries: object) -> object:
    return f"{len(entries)} entries" if isinstance(entries, list) else entries


def _in_order(posted: Posted, key: str) -> None:
    numbers = [entry.n for entry in posted.entries]
    if not numbers:
        return
    if numbers != list(range(numbers[0], numbers[0] + len(numbers))):
        raise InputError("n", numbers[0], "entries that follow one another without a gap")
    meant = f"{posted.spool}:{numbers[0]}-{numbers[-1]}"
    if key != meant:
        raise InputError("Idempotency-Key", key or "nothing", f"{meant}, as the entries are")


def _entry(given: object) -> Entry:
    if not isinstance(given, dict):
        raise InputError("entries", given, "objects")
    n = given.get("n")
    if type(n) is not int or not 1 <= n < 2**62:
        raise InputError("n", n, "the number of the entry in its spool, from 1")
    try:
        return _read(n, given)
    except InputError as error:
        raise error.at(row=n) from None


def _read(n: int, given: Mapping[str, Any]) -> Entry:
    kind = given.get("kind")
    if kind not in KINDS:
        raise InputError("kind", kind, f"one of {', '.join(KINDS)}")
    words = {name: _words(given, name) for name in LONGEST}
    if not words["instrument"]:
        raise InputError("instrument", "nothing", "name or serial number as the register has it")
    if kind in OF_RUNS and not words["run"]:
        raise InputError("run", "nothing", "the agent's own name of the run")
    at = _moment(given.get("at"), "at")
    sample = _sample(given, words["state"]) if kind == "reading" else None
    block = _number(given, "block_temperature_c") if kind == "state" else None
    instrument, run = words.pop("instrument"), words.pop("run")
    block_words = "" if block is None else f"{block:f}"
    return Entry(n, kind, instrument, run, at, words, sample, block_words, *_steady(given))


def _sample(given: Mapping[str, Any], state: str) -> Sample:
    numbers = {name: _number(given, name) for name in RANGES}
    for name in ("elapsed_s", "a_w"):
        if numbers[name] is None:
            raise InputError(name, "nothing", f"in every reading: {RANGES[name][2]}")
    return Sample(**numbers, state=state)  # type: ignore[arg-type]


def _number(given: Mapping[str, Any], field: str) -> Decimal | None:
    text = given.get(field)
    if text is None or text == "":
        return None
    low, high, allowed = RANGES[field]
    if not (isinstance(text, str) and _NUMBER.fullmatch(text)):
        raise InputError(field, text, f"{allowed}, as text with a decimal point")
    number = Decimal(text)
    if not low <= number <= high:
        raise InputError(field, text, allowed)
    return number


def _words(given: Mapping[str, Any], field: str) -> str:
    text = given.get(field, "")
    if text is None:
        return ""
    if not isinstance(text, str) or len(text) > LONGEST[field] or "\0" in text:
        raise InputError(field, str(text)[:80], f"text of at most {LONGEST[field]} characters")
    return text.strip() if field != "line" else text


def _moment(given: object, field: str) -> datetime:
    allowed = "a moment in ISO 8601 with its offset, such as 2026-09-16T09:00:00.000Z"
    try:
        at = datetime.fromisoformat(given) if isinstance(given, str) else None
        if at is not None and at.tzinfo is not None:
            return at.astimezone(UTC)
    except (ValueError, OverflowError):
        pass
    raise InputError(field, given if given else "nothing", allowed)
