"""The head file: moved on, never back, and never waited for without end."""

from __future__ import annotations

import fcntl
import os
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

import pytest

from isohume.bench.record.head import EMPTY, HEAD_FILE, Head, HeadFile, read_head

TEN, NINE, HUNDRED = Head(10, "a" * 64), Head(9, "b" * 64), Head(100, "c" * 64)


@pytest.fixture
def head(tmp_path: Path) -> Iterator[HeadFile]:
    """A head file of an empty ledger."""
    with closing(HeadFile(tmp_path, create=True)) as made:
        yield made


def test_it_moves_on_and_never_back(head: HeadFile, tmp_path: Path) -> None:
    assert head.read() == read_head(tmp_path) == EMPTY
    for written, expected in ((TEN, TEN), (NINE, TEN), (TEN, TEN), (HUNDRED, HUNDRED), (TEN, HUNDRED)):
        head.write(*written)
        assert head.read() == read_head(tmp_path) == expected


def test_opening_a_store_again_does_not_set_it_back(head: HeadFile, tmp_path: Path) -> None:
    head.write(*TEN)
    with closing(HeadFile(tmp_path, create=True)) as again:
        assert again.read() == TEN


@pytest.mark.parametrize("stored", [b"", b"x", b"what is no number at all and longer than that", b"0000"])
def test_what_is_no_head_is_written_over(head: HeadFile, tmp_path: Path, stored: bytes) -> None:
    (tmp_path / HEAD_FILE).write_bytes(stored)
    head.write(*TEN)
    assert read_head(tmp_path) == TEN


def test_somebody_who_sits_on_the_lock_delays_a_write_but_does_not_stop_it(head: HeadFile, tmp_path: Path) -> None:
    handle = os.open(tmp_path / HEAD_FILE, os.O_RDONLY)
    try:
        fcntl.flock(handle, fcntl.LOCK_EX)
        head.write(*TEN)
        assert head.read() == TEN
    finally:
        os.close(handle)
    head.write(*HUNDRED)
    assert read_head(tmp_path) == HUNDRED


def test_a_file_system_without_locks_is_written_all_the_same(
    head: HeadFile, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refuses(_file: int, _how: int) -> None:
        raise OSError("no locks here")

    monkeypatch.setattr("isohume.bench.record.head.flock", refuses)
    head.write(*TEN)
    head.write(*NINE)
    assert head.read() == read_head(tmp_path) == TEN
