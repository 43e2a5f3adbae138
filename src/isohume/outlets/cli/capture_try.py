"""`isohume capture --try`: what each line is read as, or why not."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from typing import TYPE_CHECKING

from isohume.foundation.quantity.errors import InputError, UnknownNameError
from isohume.outlets.cli.output import print_json, print_text, table

if TYPE_CHECKING:
    from argparse import Namespace

    from isohume.outlets.capture.rule import InstrumentRule, Rule
    from isohume.outlets.capture.try_lines import Tried

WORDS = {
    "start": "start of a run",
    "reading": "reading",
    "end": "end of the run",
    "state": "state",
    "unread": "NOT READ",
    "ignored": "left out by the rule",
    "said before": "said before, counted",
    "held back": "held back until the next",
}
SHORT = {
    "elapsed_s": "at",
    "sample_temperature_c": "sample",
    "block_temperature_c": "block",
    "room_humidity": "room",
}
UNITS = {"elapsed_s": " s", "sample_temperature_c": " degC", "block_temperature_c": " degC"}
LARGEST_BYTES = 10_000_000
WIDE = 60


def try_rule(given: Namespace) -> int:
    """Try a rule on the lines of a file, or live; 1 where a line of a file was not read."""
    from isohume.outlets.capture.rule_file import read_rule

    rule = read_rule(given.rule)
    if given.lines is not None:
        return _from_file(given, _one(rule, given.instrument))
    chosen = rule if given.instrument is None else type(rule)((_one(rule, given.instrument),))
    return _live(given, chosen)


def _one(rule: Rule, name: str | None) -> InstrumentRule:
    names = [one.name for one in rule.instruments]
    if name is None and len(names) > 1:
        raise InputError("instrument", "nothing", f"--instrument NAME, one of {', '.join(names)}")
    if name is not None and name not in names:
        raise UnknownNameError("instrument", name, names[:3])
    return rule.named(name or names[0])


def _from_file(given: Namespace, rule: InstrumentRule) -> int:
    from isohume.outlets.capture.clock import Clock
    from isohume.outlets.capture.sources.framing import ENDS
    from isohume.outlets.capture.try_lines import try_all

    if given.lines.stat().st_size > LARGEST_BYTES:
        raise InputError("lines", given.lines.name, f"a file of at most {LARGEST_BYTES} bytes")
    lines = [line for line in ENDS.split(given.lines.read_bytes()) if line]
    tried = list(try_all(rule, lines, Clock()))
    unread = sum(one.kind == "unread" for one in tried)
    if given.json:
        print_json({"lines": [one.as_json() for one in tried], "n": len(lines), "unread": unread})
    else:
        rows = [(_short(one.line), WORDS[one.kind], _said(one)) for one in tried]
        print_text(table(("line", "read as", "values, or why not"), rows) if rows else "The file holds no line.")
        print_text(f"\n{len(lines)} lines, {unread} not read. Nothing was kept or sent.")
    return 1 if unread else 0


def _short(text: str) -> str:
    return text if len(text) <= WIDE else f"{text[: WIDE - 3]}..."


def _said(one: Tried) -> str:
    values = ", ".join(f"{SHORT.get(name, name)} {value}{UNITS.get(name, '')}" for name, value in one.values.items())
    return "; ".join(part for part in (values, one.words) if part)


def _live(given: Namespace, rule: Rule) -> int:
    """Lines as they come, each with what it was read as; with --json one object a line."""
    if not given.json:
        print_text("Trying the rule; nothing is kept or sent. Ctrl-C ends it.")
    for one in _heard(rule):
        if given.json:
            print_json(one.as_json())
        else:
            print_text(f"{one.instrument}  {one.line}\n    {WORDS[one.kind]}: {_said(one) or 'nothing'}")
        sys.stdout.flush()
    return 0


def _heard(rule: Rule) -> Iterator[Tried]:
    """Everything the sources say, until they end or a person stops it."""
    from isohume.outlets.capture.clock import Clock
    from isohume.outlets.capture.sources.heard import ENDED, LINES, Inbox
    from isohume.outlets.capture.sources.start import start_sources
    from isohume.outlets.capture.try_lines import Trial
    from isohume.outlets.cli.capture import say

    inbox, clock = Inbox(), Clock()
    trials = {one.name: Trial(one, clock.now()) for one in rule.instruments}
    start_sources(rule, inbox, clock, lambda name: {}, lambda name: "0")
    ended = set[str]()
    while ended != set(trials):
        for heard in inbox.take(0.2):
            if heard.words:
                say(f"{heard.instrument}: {heard.words}")
            new = heard.new_file
            for raw in heard.lines if heard.kind == LINES else ():
                yield from trials[heard.instrument].line(raw, heard.now, new_file=new, doubtful=heard.doubtful)
                new = False
            if heard.kind == ENDED:
                ended.add(heard.instrument)
