"""Tiny programs in place of the site's processes, so that starts, ends and orphans are seen within a second."""

from __future__ import annotations

import os
import sys
import time
from collections.abc import Callable
from pathlib import Path

import pytest

from isohume.outlets.serve.child import Program

PATIENCE_S = 20.0


def until(true: Callable[[], bool], what: str) -> None:
    """Wait until something is true; the limit only ends a test that would never pass."""
    limit = time.monotonic() + PATIENCE_S
    while not true():
        assert time.monotonic() < limit, f"in vain: {what}"
        time.sleep(0.02)


def is_alive(pid: int) -> bool:
    """Whether a process is there and no zombie."""
    try:
        return Path(f"/proc/{pid}/stat").read_bytes().rpartition(b") ")[2][:1] not in b"ZX"
    except FileNotFoundError:
        return False


@pytest.fixture
def program() -> Callable[..., Program]:
    """`program(name, code)`: a program that runs Python code."""

    def made(name: str, code: str) -> Program:
        return Program(name, (sys.executable, "-c", code), {**os.environ, "PYTHONUNBUFFERED": "1"})

    return made


@pytest.fixture(name="until")
def waiting() -> Callable[[Callable[[], bool], str], None]:
    """`until(true, what)`: wait until something is true."""
    return until


@pytest.fixture(name="is_alive")
def living() -> Callable[[int], bool]:
    """`is_alive(pid)`: whether a process is there."""
    return is_alive
