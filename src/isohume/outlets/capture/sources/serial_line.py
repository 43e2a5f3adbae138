"""A serial line that is opened again for ever: a cable that is pulled comes back by itself.

After connecting, an instrument that keeps its runs is asked to say them again from the last one known. Where the rule
names its answer, lines that come before the answer are let pass: they will be said again, in their order.
"""

from __future__ import annotations

import os
import random
import time
from collections.abc import Callable
from contextlib import suppress
from typing import Any

from isohume.outlets.capture.clock import Clock
from isohume.outlets.capture.line import decoded
from isohume.outlets.capture.pattern import SlowPatternError
from isohume.outlets.capture.rule import InstrumentRule, SerialSource
from isohume.outlets.capture.sources.framing import Lines
from isohume.outlets.capture.sources.heard import CONNECTED, LINES, LOST, Heard, Inbox

FIRST_WAIT_S, LONGEST_WAIT_S = 0.2, 10.0
READ_S = 0.5
MIDST_S = 0.05  # bytes that come so soon after opening may belong to a line that had begun before
ANSWER_S, ASKED_TIMES = 5.0, 3
DOUBTFUL = "the line may have begun before the connection was made"
CUT_OFF = "the line was cut off: the connection ended within it"


class SerialLine:
    """One instrument's line."""

    def __init__(self, rule: InstrumentRule, inbox: Inbox, clock: Clock, asks_from: Callable[[], str]) -> None:
        assert isinstance(rule.source, SerialSource)
        self._rule, self._source, self._inbox, self._clock = rule, rule.source, inbox, clock
        self._asks_from = asks_from

    def run(self) -> None:
        """Until the agent stops."""
        wait, said = FIRST_WAIT_S, ""
        while not self._inbox.stop.is_set():
            try:
                with _opened(self._source) as port:
                    self._put(CONNECTED, words=f"connected to {self._source.port}")
                    wait, said = FIRST_WAIT_S, ""
                    self._follow(port)
            except Exception as error:  # drivers have errors of their own, and the line is opened again for ever
                words = f"{self._source.port}: {_why(error)}; trying again"
                if words != said:  # a cable that is out is said once
                    self._put(LOST, words=words)
                    said = words
            self._inbox.stop.wait(wait * random.uniform(0.8, 1.2))
            wait = min(2 * wait, LONGEST_WAIT_S)

    def _put(self, kind: str, lines: tuple[bytes, ...] = (), doubtful: str = "", words: str = "") -> None:
        self._inbox.put(Heard(self._rule.name, kind, self._clock.now(), lines, doubtful, words=words))

    def _follow(self, port: Any) -> None:
        lines = Lines()
        doubtful = self._begun_midst(port, lines)
        waiting = self._ask(port)
        try:
            while not self._inbox.stop.is_set():
                data = _some(port, self._source.port)
                whole = lines.feed(data) if data else []
                if whole and doubtful and waiting is None:
                    self._put(LINES, (whole.pop(0),), DOUBTFUL)
                doubtful = doubtful and not whole
                if waiting is not None:
                    whole, waiting = self._after_answer(port, whole, waiting)
                if whole:
                    self._put(LINES, tuple(whole))
        finally:
            cut = lines.cut()
            if cut and waiting is None:
                self._put(LINES, (cut,), CUT_OFF)

    def _begun_midst(self, port: Any, lines: Lines) -> bool:
        """Whether the line was speaking when it was opened."""
        if self._source.repeats:
            port.reset_input_buffer()  # it will be said again
        until = time.monotonic() + MIDST_S
        while time.monotonic() < until:
            if port.in_waiting:
                return True
            time.sleep(0.005)
        return False

    def _ask(self, port: Any) -> tuple[float, int] | None:
        """Send what the rule says; the moment and number of the asking, where an answer is awaited."""
        for text in (self._source.on_connect, self._source.repeat_from):
            if text:
                port.write(text.replace("{number}", self._asks_from()).encode(self._rule.line.encoding, "replace"))
        return None if self._source.answer is None else (time.monotonic(), 1)

    def _after_answer(
        self, port: Any, whole: list[bytes], waiting: tuple[float, int]
    ) -> tuple[list[bytes], tuple[float, int] | None]:
        """The lines after the answer, and whether it is still awaited."""
        for i, line in enumerate(whole):
            if self._is_answer(line):
                return whole[i + 1 :], None
        asked_at, times = waiting
        if time.monotonic() - asked_at < ANSWER_S:
            return [], waiting
        if times >= ASKED_TIMES:  # it does not answer: better its lines than nothing
            return whole, None
        asked = self._ask(port)
        return [], None if asked is None else (asked[0], times + 1)

    def _is_answer(self, line: bytes) -> bool:
        answer = self._source.answer
        with suppress(SlowPatternError):
            return answer is not None and answer.search(decoded(line, self._rule.line.encoding)[0]) is not None
        return False


def _opened(source: SerialSource) -> Any:
    import serial

    stop_bits = {1: serial.STOPBITS_ONE, 1.5: serial.STOPBITS_ONE_POINT_FIVE, 2: serial.STOPBITS_TWO}
    words: dict[str, Any] = {
        "baudrate": source.baud,
        "bytesize": source.bits,
        "parity": {"none": serial.PARITY_NONE, "even": serial.PARITY_EVEN, "odd": serial.PARITY_ODD}[source.parity],
        "stopbits": stop_bits[source.stop_bits],
        "xonxoff": source.flow == "xonxoff",
        "rtscts": source.flow == "rtscts",
        "timeout": READ_S,
    }
    if not source.port.startswith("rfc2217:"):  # its driver refuses the word, and with it the whole line
        words["write_timeout"] = 5
    if "://" not in source.port and os.name == "posix":
        words["exclusive"] = True  # two readers of one port would each get half of it
    port = serial.serial_for_url(source.port, do_not_open=True, **words)
    if source.port.startswith("socket:"):
        # what the other end says at once would be thrown away by the opening itself
        port.reset_input_buffer = lambda: None
        port.open()
        del port.reset_input_buffer
    else:
        port.open()
    return port


def _some(port: Any, url: str) -> bytes:
    """What has come, at least one byte or nothing after a moment."""
    data = bytes(port.read(1))
    while data and (more := port.in_waiting):
        # behind a socket only "something" is known; asked for more, it would drop what came before a disconnection
        data += port.read(1 if url.startswith("socket:") else more)
        if len(data) > 4096:
            break
    return data


def _why(error: Exception) -> str:
    text = str(error) or type(error).__name__
    return text if len(text) <= 200 else f"{text[:197]}..."
