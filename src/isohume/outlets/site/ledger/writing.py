"""One transaction for a change and its ledger lines: Django's tables and the evidence commit together or not at all."""

from __future__ import annotations

import threading
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path

from django.conf import settings
from django.db import connection, transaction

from isohume.bench.record.head import HeadFile
from isohume.bench.record.transaction import Transaction, joined

_open = threading.local()
_heads: dict[Path, HeadFile] = {}
_heads_lock = threading.Lock()


@contextmanager
def writing(at: datetime) -> Iterator[Transaction]:
    """The evidence's transaction inside Django's; within another `writing` it is the same one.

    at: the moment the lines carry; within another `writing`, the moment of the inner one while it lasts.
    """
    outer = getattr(_open, "transaction", None)
    if outer is not None:
        before, _open.at = _open.at, at
        try:
            yield outer
        finally:
            _open.at = before
        return
    _open.at = at
    try:
        with transaction.atomic():
            _open.transaction = evidence = joined(connection.connection, _head(), lambda: stamp(_open.at))
            begun = evidence.head
            yield evidence
    finally:
        _open.transaction = None
    if evidence.head != begun:
        _head().write(*evidence.head)


def is_writing() -> bool:
    """Whether this thread is inside a `writing`."""
    return getattr(_open, "transaction", None) is not None


def stamp(at: datetime) -> str:
    """A moment as the ledger writes it: ISO 8601, UTC, whole seconds."""
    return at.astimezone(UTC).replace(microsecond=0).isoformat()


def _head() -> HeadFile:
    with _heads_lock:
        folder = settings.DATA
        if folder not in _heads:
            _heads[folder] = HeadFile(folder, create=False)
        return _heads[folder]
