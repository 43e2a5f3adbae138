"""A bag with a store in its payload: the manifest first, then the store inside."""

from __future__ import annotations

import hashlib
import shutil
from collections.abc import Callable
from pathlib import Path

import pytest

from isohume.bench.record.head import HEAD_FILE
from isohume.bench.record.tables import DATABASE
from isohume.bench.record.verification import verify
from isohume.foundation.quantity.errors import InputError


def declare(bag: Path, text: str = "BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\n") -> None:
    """Write the declaration."""
    (bag / "bagit.txt").write_text(text, encoding="utf-8")


def list_payload(bag: Path) -> None:
    """Write the manifest as RFC 8493 2.1.3 has it."""
    listed = [path for path in sorted((bag / "data").rglob("*")) if path.is_file()]
    lines = [
        f"{hashlib.sha256(path.read_bytes()).hexdigest()}  {path.relative_to(bag).as_posix().replace('%', '%25')}\n"
        for path in listed
    ]
    (bag / "manifest-sha256.txt").write_text("".join(lines), encoding="utf-8")


def list_tags(bag: Path) -> None:
    """Write the manifest of the tag files."""
    lines = [
        f"{hashlib.sha256((bag / name).read_bytes()).hexdigest()}  {name}\n"
        for name in ("bagit.txt", "manifest-sha256.txt")
    ]
    (bag / "tagmanifest-sha256.txt").write_text("".join(lines), encoding="utf-8")


@pytest.fixture(params=["data", "data/records of the plant"])
def bag(filled: Path, tmp_path: Path, request: pytest.FixtureRequest) -> Path:
    """A bag with the store at the top of its payload, or in a folder of it, and a certificate beside."""
    place = tmp_path / "bag"
    shutil.copytree(filled, place / request.param)
    (place / request.param / "R000001 100%.pdf").write_bytes(b"%PDF-1.7 ... %%EOF")
    declare(place)
    list_payload(place)
    list_tags(place)
    return place


def test_a_sound_bag(bag: Path) -> None:
    before = sorted(bag.rglob("*"))
    found = verify(bag)
    assert (found.entries, found.records, found.verified) == (13, 3, True)
    assert sorted(bag.rglob("*")) == before


def test_a_bag_without_a_manifest_of_its_tags(bag: Path) -> None:
    (bag / "tagmanifest-sha256.txt").unlink()
    assert verify(bag).verified


def certificate(bag: Path) -> Path:
    """The certificate in the payload."""
    return next(bag.rglob("*.pdf"))


def change_certificate(bag: Path) -> str:
    """One byte of a payload file."""
    certificate(bag).write_bytes(b"%PDF-1.8 ... %%EOF")
    return certificate(bag).relative_to(bag).as_posix()


def lose_certificate(bag: Path) -> str:
    """A payload file is missing."""
    name = certificate(bag).relative_to(bag).as_posix()
    certificate(bag).unlink()
    return name


def add_file(bag: Path) -> str:
    """A payload file that the manifest does not list."""
    (bag / "data" / "added.txt").write_bytes(b"x")
    return "data/added.txt"


def change_head(bag: Path) -> str:
    """The head file set back to an empty ledger, which the store alone must allow after a kill."""
    head = next(bag.rglob(HEAD_FILE))
    head.write_text(f"{0:015d} {'0' * 64}\n", encoding="ascii")
    return head.relative_to(bag).as_posix()


def change_declaration(bag: Path) -> str:
    """Another encoding is declared."""
    declare(bag, "BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-16\n")
    return "bagit.txt"


def change_manifest(bag: Path) -> str:
    """A comment in the manifest, which only the manifest of the tags can know."""
    manifest = bag / "manifest-sha256.txt"
    manifest.write_text(manifest.read_text(encoding="utf-8").replace("  data", " data", 1), encoding="utf-8")
    return "manifest-sha256.txt"


def leave_the_bag(bag: Path) -> str:
    """A manifest that points outside."""
    manifest = bag / "manifest-sha256.txt"
    outside = f"{hashlib.sha256(b'').hexdigest()}  data/../../outside\n"
    manifest.write_text(manifest.read_text(encoding="utf-8") + outside, encoding="utf-8")
    return "manifest-sha256.txt"


def owe_a_file(bag: Path) -> str:
    """A file that is still to be fetched."""
    (bag / "fetch.txt").write_text("x 1 data/later\n", encoding="utf-8")
    return "fetch.txt"


CHANGES = [
    change_certificate,
    lose_certificate,
    add_file,
    change_head,
    change_declaration,
    change_manifest,
    leave_the_bag,
    owe_a_file,
]


@pytest.mark.parametrize("change", CHANGES)
def test_a_bag_that_is_not_what_was_packed(bag: Path, change: Callable[[Path], str]) -> None:
    named = change(bag)
    found = verify(bag)
    assert not found.verified
    assert found.first_bad is not None
    assert (found.first_bad.kind, found.first_bad.id) == ("file", named)


def test_a_changed_row_is_named_although_the_manifest_knows_of_it_too(bag: Path) -> None:
    database = next(bag.rglob(DATABASE))
    database.write_bytes(database.read_bytes().replace(b"SB-1-B", b"SB-1-X"))
    found = verify(bag)
    assert found.first_bad is not None
    assert (found.first_bad.kind, found.first_bad.id) == ("ledger", "6")


def test_a_changed_row_in_a_bag_that_was_packed_anew(bag: Path) -> None:
    database = next(bag.rglob(DATABASE))
    database.write_bytes(database.read_bytes().replace(b"SB-1-B", b"SB-1-X"))
    list_payload(bag)
    list_tags(bag)
    found = verify(bag)
    assert found.first_bad is not None
    assert (found.first_bad.kind, found.first_bad.id) == ("ledger", "6")


def test_a_bag_without_a_store_or_a_manifest_is_bad_input(bag: Path) -> None:
    (bag / "manifest-sha256.txt").unlink()
    with pytest.raises(InputError, match=r"a bag with manifest-sha256\.txt"):
        verify(bag)
    next(bag.rglob(DATABASE)).unlink()
    with pytest.raises(InputError, match="one store"):
        verify(bag)
