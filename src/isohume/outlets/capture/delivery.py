"""Brings the spool's entries to the site, in their order, until it holds them; nothing is ever given up.

The site says up to which number it holds the spool. What it does not hold is sent again; what it refuses stays, is
shown, and is tried again. A site that is away for hours is nothing special.
"""

from __future__ import annotations

import random
import sqlite3
import threading
from collections.abc import Callable
from pathlib import Path
from typing import Any

from isohume.foundation.quantity.errors import InputError
from isohume.outlets.capture.clock import Clock
from isohume.outlets.capture.entry import wire
from isohume.outlets.capture.sources.heard import Say
from isohume.outlets.capture.spool import Outgoing
from isohume.outlets.capture.token_file import read_token
from isohume.outlets.capture.wire import Answer, Wire

MOST_ENTRIES, MOST_BYTES = 2000, 1_000_000
EVERY_S = 1.0
FIRST_WAIT_S, LONGEST_WAIT_S = 1.0, 60.0
REFUSED = (400, 401, 403, 404, 413, 422)
WELL = "delivers"
STOPPED = "Nothing more is sent from this spool, and everything stays in it: begin a new spool folder"


class Delivery:
    """One site. `spool` is a folder; its writer is another thread."""

    def __init__(self, spool: Path, line: Wire, token_file: Path, clock: Clock, say: Say) -> None:
        self._folder, self._wire, self._token_file, self._clock, self._say = spool, line, token_file, clock, say
        self._said, self._stopped = "", False
        self.news = threading.Event()  # set by the writer after each commit

    def run(self, stop: threading.Event, drained: Callable[[], bool] = lambda: False) -> None:
        """Until the agent stops; or, once `drained` says that nothing more will come, until all is delivered."""
        out, wait = Outgoing(self._folder), FIRST_WAIT_S
        try:
            while not stop.is_set():
                sent = self._once(out)
                if self._stopped:
                    self._wait_for_the_end(stop, drained)
                    return
                if sent is None:
                    stop.wait(wait * random.uniform(0.7, 1.0))
                    wait = min(2 * wait, LONGEST_WAIT_S)
                    continue
                wait = FIRST_WAIT_S
                if sent:
                    stop.wait(0 if sent >= MOST_ENTRIES else EVERY_S)
                elif drained() and out.marks()[0] == out.marks()[1]:
                    return
                else:
                    self.news.wait(EVERY_S)
                self.news.clear()
        finally:
            self._wire.close()
            out.close()

    def _wait_for_the_end(self, stop: threading.Event, drained: Callable[[], bool]) -> None:
        """Nothing is sent any more; what is read goes on into the spool."""
        self._wire.close()
        while not stop.is_set() and not drained():
            stop.wait(EVERY_S)

    def _once(self, out: Outgoing) -> int | None:
        """Send the next entries; how many were taken, None where they were not."""
        try:
            last, acknowledged = out.marks()
            rows = out.after(acknowledged, MOST_ENTRIES, MOST_BYTES)
            if not rows:
                return 0
            answer = self._send(out, rows, last - rows[-1][0])
            return self._taken(out, answer, rows, last)
        except (InputError, OSError) as error:
            self._tell(out, f"refused: {error}")
        except sqlite3.OperationalError as error:
            self._say(f"spool: {error}; trying again")
        return None

    def _send(self, out: Outgoing, rows: list[tuple[int, str]], waiting: int) -> Answer:
        now, first, last = self._clock.now(), rows[0][0], rows[-1][0]
        body: dict[str, Any] = {"spool": out.key, "now": now.at, "steady": now.steady_text, "boot": now.boot_name}
        before = out.chain_at(first - 1)
        if before:
            body.update(chain_before=before, chain_after=out.chain_at(last))
        body.update(waiting=waiting, entries=[wire(n, text) for n, text in rows])
        return self._wire.post(read_token(self._token_file), body, f"{out.key}:{first}-{last}")

    def _taken(self, out: Outgoing, answer: Answer, rows: list[tuple[int, str]], newest: int) -> int | None:
        """What an answer means for the entries that were sent."""
        first, last, held = rows[0][0], rows[-1][0], answer.last
        if answer.another_spool:
            self._stop(out, f"refused: {_plain(str(answer.content.get('error', '')))}")
            return None
        if answer.status == 200 and held is not None and first <= held <= last:
            out.acknowledge(held)
            self._tell(out, WELL)
            return held - first + 1
        if answer.status in (200, 409) and held is not None:
            return self._elsewhere(out, held, newest, answer.chain)
        self._tell(out, _words(answer))
        return None

    def _stop(self, out: Outgoing, words: str) -> None:
        """Send nothing more from this spool: what the site holds under its name is not what this one holds."""
        self._stopped = True
        self._tell(out, f"{words}. {STOPPED}")

    def _elsewhere(self, out: Outgoing, held: int, newest: int, chain: str) -> int | None:
        """The site holds another number than this spool thought."""
        here = out.chain_at(held) if held <= newest else ""
        if chain and here and chain != here:
            self._stop(out, f"refused: another spool under this name: up to entry {held} the site holds others")
            return None
        if held > newest:
            words = (
                f"refused: the site holds entry {held} of this spool, which has only {newest}: the spool was put back "
                "from an older copy. Start a new spool folder, and keep this one for whoever looks into it"
            )
        elif held == out.marks()[1]:
            words = "the site took nothing; trying again"
        elif held == newest or ((kept := out.after(held, 1, 1)) and kept[0][0] == held + 1):
            out.back_to(held)
            self._tell(out, f"the site holds entries up to {held}: going on from {held + 1}")
            return MOST_ENTRIES
        else:
            words = f"refused: the site holds entries up to {held}, and this spool has let go of those that follow"
        self._tell(out, words)
        return None

    def _tell(self, out: Outgoing, words: str) -> None:
        """Each news once on the console; the last one is kept for `--status`."""
        if words == self._said:
            return
        out.say("delivery", self._clock.now().at, words)
        self._say(f"the site takes entries again ({self._wire.site})" if words == WELL and self._said else words)
        self._said = words


def _words(answer: Answer) -> str:
    """An answer that took nothing, in one line."""
    if answer.status == 0:
        return answer.words
    error = str(answer.content.get("error", ""))
    entry = f"entry {answer.content['n']}: " if "n" in answer.content else ""
    said = f"{entry}{_plain(error)}" if error else answer.words
    kind = "refused" if answer.status in REFUSED else "not taken"
    why = "the token is unknown or revoked" if answer.status == 401 else said
    return f"{kind} ({answer.status}): {why}"


def _plain(text: str) -> str:
    """What a site said, on one line of at most 300 characters."""
    return "".join(c if c.isprintable() else " " for c in text)[:300]
