"""A bag (RFC 8493): a folder whose manifest names every payload file with its digest, so that it can travel."""

from __future__ import annotations

from hashlib import file_digest
from pathlib import Path, PurePosixPath

from isohume.foundation.quantity.errors import InputError

MANIFEST = "manifest-sha256.txt"
TAG_MANIFEST = "tagmanifest-sha256.txt"
ENCODING = b"Tag-File-Character-Encoding: UTF-8"


def is_bag(folder: Path) -> bool:
    """Whether a folder declares itself a bag.

    folder: the folder [text].
    Returns: true [1] where bagit.txt is there.
    Source: RFC8493, 2.1.1.
    """
    return (folder / "bagit.txt").is_file()


def fault_of_bag(folder: Path) -> tuple[str, str] | None:
    """The first thing in a bag that is not as its manifests say: (file, reason), or None.

    folder: the bag [text].
    Returns: the file's place in the bag and what is wrong with it [text].
    Raises: InputError where the bag has no SHA-256 manifest.
    Beyond: other digests than SHA-256 are not read; a fetch list is refused, for the bag is then not complete.
    Source: RFC8493, 2.1.1, 2.1.3, 2.2.1 and 3.
    """
    if not (folder / MANIFEST).is_file():
        raise InputError("bag", str(folder), f"a bag with {MANIFEST}")
    declared = (folder / "bagit.txt").read_bytes().splitlines()
    if len(declared) != 2 or not declared[0].startswith(b"BagIt-Version: ") or declared[1] != ENCODING:
        return "bagit.txt", "it does not declare a version and the UTF-8 encoding"
    if (folder / "fetch.txt").exists():
        return "fetch.txt", "files are still to be fetched: the bag is not complete"
    try:
        listed = _listed(folder / MANIFEST)
        tags = _listed(folder / TAG_MANIFEST) if (folder / TAG_MANIFEST).is_file() else {}
    except ValueError as error:
        return str(error.args[0]), "it does not list one SHA-256 digest and one place inside the bag a line"
    there = {path.relative_to(folder).as_posix() for path in (folder / "data").rglob("*") if not path.is_dir()}
    for name in sorted(there | listed.keys() | tags.keys()):
        fault = _fault_of_file(folder, name, listed | tags)
        if fault is not None:
            return name, fault
    return None


def _listed(manifest: Path) -> dict[str, str]:
    listed = {}
    for line in manifest.read_text(encoding="utf-8").splitlines():
        digest, _, name = line.partition(" ")
        name = name.lstrip(" *\t")
        # the three characters a manifest must escape
        name = name.replace("%0A", "\n").replace("%0D", "\r").replace("%25", "%")
        place = PurePosixPath(name)
        if len(digest) != 64 or not name or place.is_absolute() or ".." in place.parts or name in listed:
            raise ValueError(manifest.name)
        listed[name] = digest.lower()
    return listed


def _fault_of_file(folder: Path, name: str, listed: dict[str, str]) -> str | None:
    path = folder / name
    if name not in listed:
        return "the file is in the bag, but its manifest does not list it"
    if not path.is_file():
        return "the manifest lists the file, but it is not in the bag"
    with path.open("rb") as file:
        if file_digest(file, "sha256").hexdigest() != listed[name]:
            return "its SHA-256 is not the one in the manifest"
    return None
