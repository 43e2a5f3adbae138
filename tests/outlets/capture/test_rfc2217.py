"""A line over the network by RFC 2217: pyserial's own server before an instrument, which is one end of a pty."""

from __future__ import annotations

import os
import pty
import queue
import socket
import threading
import time
import tty
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from typing import Any

import pytest
import serial
from serial.rfc2217 import PortManager

from isohume.outlets.capture.rule import SerialSource
from isohume.outlets.capture.sources.serial_line import _opened

SAID = b"cup 0001 a_w 0.6512 at 25.0\r\n"
WITHIN_S = 10.0


class Wire:
    """What the server writes through: one connection."""

    def __init__(self, connection: socket.socket) -> None:
        self._connection = connection

    def write(self, data: bytes) -> None:
        """To whoever is connected."""
        self._connection.sendall(data)


class Pty(serial.Serial):
    """A pty has no modem lines, and the server asks for them and sets them."""

    cts = dsr = ri = cd = property(lambda _: False)

    def _update_rts_state(self) -> None:
        """Nothing to set."""

    def _update_dtr_state(self) -> None:
        """Nothing to set."""


def _serve(listening: socket.socket, port: serial.Serial, settings: queue.Queue[int]) -> None:
    with suppress(OSError):
        connection, _ = listening.accept()
        with connection:
            wire = Wire(connection)
            manager: Any = PortManager(port, wire)
            threading.Thread(target=_read_port, args=(port, manager, wire), daemon=True).start()
            while data := connection.recv(1024):
                port.write(b"".join(manager.filter(data)))
            settings.put(port.baudrate)


def _read_port(port: serial.Serial, manager: Any, wire: Wire) -> None:
    with suppress(OSError, serial.SerialException, TypeError):
        while True:
            if data := port.read(port.in_waiting or 1):
                wire.write(b"".join(manager.escape(data)))


@contextmanager
def served() -> Iterator[tuple[int, str, queue.Queue[int]]]:
    """The instrument's end, the address of the server before the other end, and the speed it was asked for."""
    instrument, other = pty.openpty()
    tty.setraw(instrument)
    tty.setraw(other)
    settings: queue.Queue[int] = queue.Queue()
    with socket.create_server(("127.0.0.1", 0)) as listening, Pty(os.ttyname(other), timeout=0.1) as port:
        threading.Thread(target=_serve, args=(listening, port, settings), daemon=True).start()
        yield instrument, f"rfc2217://127.0.0.1:{listening.getsockname()[1]}", settings
    os.close(instrument)
    os.close(other)


@pytest.mark.filterwarnings("ignore:set(Daemon|Name):DeprecationWarning")  # pyserial's own, of an older Python
def test_what_an_instrument_says_comes_whole_and_what_it_is_asked_reaches_it() -> None:
    with served() as (instrument, address, settings):
        with _opened(SerialSource(port=address, baud=19200)) as port:
            os.write(instrument, SAID)
            heard, until = b"", time.monotonic() + WITHIN_S
            while len(heard) < len(SAID) and time.monotonic() < until:
                heard += port.read(len(SAID) - len(heard))
            assert heard == SAID
            port.write(b"tell from 0001\r\n")
            assert os.read(instrument, 100) == b"tell from 0001\r\n"
        assert settings.get(timeout=WITHIN_S) == 19200  # RFC 2217 SET-BAUDRATE: the server's port has the rule's speed
