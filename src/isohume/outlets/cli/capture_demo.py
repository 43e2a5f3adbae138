"""`isohume capture --instrument-demo`: the invented instrument, with the rule that reads it."""

from __future__ import annotations

import signal
import sys
import threading
from typing import TYPE_CHECKING

from isohume.foundation.quantity.errors import InputError
from isohume.outlets.cli.output import print_json, print_text

if TYPE_CHECKING:
    from argparse import Namespace

FASTEST = 10_000


def demonstrate(given: Namespace) -> int:
    """Run the instrument until it is stopped."""
    from isohume.outlets.capture.instrument.cup import read_cup
    from isohume.outlets.capture.instrument.machine import Machine
    from isohume.outlets.capture.instrument.program import NAME, Port, demo_rule, run_instrument

    if given.rule is not None:
        raise InputError("rule", str(given.rule), "no --rule with --instrument-demo: it prints the rule that reads it")
    cups = [read_cup(text) for text in (given.cups or "").split(",") if text.strip()]
    pace, seed = _whole("pace", given.pace, 1, FASTEST), _whole("seed", given.seed, 1, 10**9)
    stopped = threading.Event()
    for number in (signal.SIGTERM, signal.SIGINT):
        signal.signal(number, lambda *_: stopped.set())
    port = Port(given.link)
    try:
        name = given.instrument or NAME
        place = str(given.link.absolute()) if given.link is not None else port.name
        if given.json:
            print_json({"port": place, "instrument": name, "rule": demo_rule(place, name)})
        else:
            print_text(demo_rule(place, name))
            print_text("# The instrument runs. Type a cup such as 0.7528 or 0.632 slow to lay it in; out takes it out.")
        sys.stdout.flush()
        run_instrument(Machine(cups, seed), port, pace, stopped.is_set)
    finally:
        port.close()
    return 0


def _whole(field: str, text: str | None, default: int, most: int) -> int:
    if text is None:
        return default
    if not (text.isascii() and text.isdigit() and len(text) <= 10 and 1 <= int(text) <= most):
        raise InputError(field, text, f"a whole number, 1 to {most}")
    return int(text)
