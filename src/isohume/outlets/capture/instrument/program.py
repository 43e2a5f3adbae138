"""The invented instrument at a port of its own (a pseudo-terminal), until it is stopped.

It is silent until it is told to speak, as its memory is: `tell from 0042` makes it say every run from that one on, and
then go on live. When whoever opened its port has gone, it is silent again.
"""

from __future__ import annotations

import errno
import os
import select
import sys
import time
from collections.abc import Callable
from contextlib import suppress
from importlib.resources import files
from pathlib import Path

from isohume.foundation.quantity.errors import InputError
from isohume.outlets.capture.instrument.cup import read_cup
from isohume.outlets.capture.instrument.machine import Machine

LOOK_S = 0.02
NAME = "demo-instrument"


def demo_rule(port: str, name: str = NAME) -> str:
    """The rule that reads it, as a laboratory would write it."""
    text = files("isohume.outlets.capture.instrument").joinpath("demo-rule.toml").read_text(encoding="utf-8")
    return text.replace("{port}", port).replace("{name}", name)


class Port:
    """The instrument's end of a pseudo-terminal."""

    def __init__(self, link: Path | None) -> None:
        if os.name != "posix":
            raise InputError("instrument_demo", sys.platform, "a system with pseudo-terminals, such as Linux")
        import pty
        import tty

        self._own, theirs = pty.openpty()
        tty.setraw(theirs)
        self.name = os.ttyname(theirs)
        os.close(theirs)
        os.set_blocking(self._own, False)
        self._link = link
        if link is not None:
            if link.is_symlink():
                link.unlink()
            link.symlink_to(self.name)
        self._out, self._in, self._commands = b"", b"", list[str]()
        self.is_listened_to = False

    def close(self) -> None:
        """Pull the cable for good."""
        os.close(self._own)
        if self._link is not None:
            self._link.unlink(missing_ok=True)

    def look(self) -> list[str]:
        """What was asked since; it notices when nobody has the port open."""
        try:
            while data := os.read(self._own, 4096):
                self._in += data
        except BlockingIOError:
            pass
        except OSError as error:
            if error.errno != errno.EIO:
                raise
            self._hang_up()
            return []
        *whole, self._in = self._in.replace(b"\r", b"\n").split(b"\n")
        return [line.decode("ascii", "replace") for line in whole if line]

    def _hang_up(self) -> None:
        import termios

        self.is_listened_to, self._out, self._in = False, b"", b""
        with suppress(termios.error):
            termios.tcflush(self._own, termios.TCIOFLUSH)

    def say(self, lines: list[str]) -> None:
        """Say lines where somebody listens; what the line does not take yet waits."""
        if self.is_listened_to:
            self._out += "".join(f"{line}\r\n" for line in lines).encode("ascii")
            with suppress(BlockingIOError, OSError):
                while self._out:
                    self._out = self._out[os.write(self._own, self._out) :]


def run_instrument(
    machine: Machine,
    port: Port,
    pace: float,
    stopped: Callable[[], bool],
    look_s: float = LOOK_S,
    *,
    hands: bool = True,
) -> None:
    """Serve the port until `stopped`; cups may be laid in by lines of standard input."""
    begun, typed = time.monotonic(), _Hands() if hands else None
    while not stopped():
        for command in port.look():
            said = machine.answer(command)
            port.is_listened_to = port.is_listened_to or bool(said)
            port.say(said)
        if typed is not None:
            typed.work(machine)
        port.say(machine.advance((time.monotonic() - begun) * pace))
        time.sleep(look_s)


class _Hands:
    """Whoever types: `0.7528` lays a cup in, `out` takes it out."""

    def __init__(self) -> None:
        self._there = sys.stdin is not None and not sys.stdin.closed and sys.stdin.fileno() >= 0

    def work(self, machine: Machine) -> None:
        """Do what was typed."""
        while self._there and select.select([sys.stdin], [], [], 0)[0]:
            line = sys.stdin.readline()
            if not line:
                self._there = False
            elif line.strip() == "out":
                machine.take_out()
            elif line.strip():
                try:
                    machine.lay_in(read_cup(line, "cup"))
                except InputError as error:
                    sys.stderr.write(f"{error}\n")
