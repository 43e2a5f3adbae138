"""Certificates as files: whole or not at all, one or many with progress."""

from __future__ import annotations

import os
from pathlib import Path
from typing import Any

import pytest

from isohume.foundation.quantity.errors import InputError
from isohume.outlets.paper import atomic_file
from isohume.outlets.paper.certificate import certificate_pdf
from isohume.outlets.paper.certificate_file import certificates, write_certificate


def test_a_certificate_is_named_by_its_record(record: dict[str, Any], digest: str, tmp_path: Path) -> None:
    path = write_certificate(record, digest, tmp_path / "new" / "folder")
    assert path == tmp_path / "new" / "folder" / "R000001.pdf"
    assert path.read_bytes() == certificate_pdf(record, digest)
    assert os.listdir(path.parent) == ["R000001.pdf"]


def test_a_certificate_replaces_its_former_self(record: dict[str, Any], digest: str, tmp_path: Path) -> None:
    (tmp_path / "R000001.pdf").write_bytes(b"half a file")
    write_certificate(record, digest, tmp_path)
    assert (tmp_path / "R000001.pdf").read_bytes().startswith(b"%PDF")


@pytest.mark.parametrize("name", ["../R1", "a/b", "", ".hidden", "C:\\x", "a" * 101, "R1\n"])
def test_an_id_that_could_leave_the_folder_is_refused(
    record: dict[str, Any], digest: str, tmp_path: Path, name: str
) -> None:
    record["id"] = name
    with pytest.raises(InputError, match=r"record\.id"):
        write_certificate(record, digest, tmp_path)
    assert os.listdir(tmp_path) == []


def test_a_failure_before_the_rename_leaves_the_old_file_and_nothing_else(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    target = tmp_path / "R000001.pdf"
    target.write_bytes(b"old")

    def full_disk(*_: object) -> None:
        raise OSError("no space left")

    monkeypatch.setattr(atomic_file.os, "fsync", full_disk)
    with pytest.raises(OSError, match="no space"):
        atomic_file.write_whole(target, b"new")
    assert target.read_bytes() == b"old"
    assert os.listdir(tmp_path) == ["R000001.pdf"]


def test_content_is_synced_before_and_the_folder_after_the_rename(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    steps: list[str] = []
    replace, fsync = os.replace, os.fsync

    def seen_replace(source: str, target: Path) -> None:
        steps.append("rename")
        replace(source, target)

    def seen_fsync(handle: int) -> None:
        steps.append("folder" if os.path.isdir(f"/proc/self/fd/{handle}") else "file")
        fsync(handle)

    monkeypatch.setattr(atomic_file.os, "replace", seen_replace)
    monkeypatch.setattr(atomic_file.os, "fsync", seen_fsync)
    atomic_file.write_whole(tmp_path / "x.pdf", b"content")
    assert steps == ["file", "rename", "folder"]


def test_a_batch_says_how_far_it_is_and_gives_the_same_files(
    record: dict[str, Any], digest: str, tmp_path: Path
) -> None:
    many = [({**record, "id": f"R{i:06}"}, digest) for i in range(1, 6)]
    seen: list[tuple[int, int | None]] = []
    paths = certificates(many, tmp_path, lambda done, total: seen.append((done, total)))
    assert seen == [(i, 5) for i in range(1, 6)]
    assert [path.name for path in paths] == [f"R{i:06}.pdf" for i in range(1, 6)]
    assert paths[2].read_bytes() == certificate_pdf(many[2][0], digest)


def test_a_batch_of_unknown_length_is_read_one_at_a_time(record: dict[str, Any], digest: str, tmp_path: Path) -> None:
    seen: list[tuple[int, int | None]] = []
    many = (({**record, "id": f"R{i:06}"}, digest) for i in range(1, 3))
    assert len(certificates(many, tmp_path, lambda done, total: seen.append((done, total)))) == 2
    assert seen == [(1, None), (2, None)]


def test_a_bad_record_in_a_batch_stops_it_and_keeps_what_was_written(
    record: dict[str, Any], digest: str, tmp_path: Path
) -> None:
    with pytest.raises(InputError):
        certificates([(record, digest), ({**record, "schema": "other"}, digest)], tmp_path)
    assert os.listdir(tmp_path) == ["R000001.pdf"]
