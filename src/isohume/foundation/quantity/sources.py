"""The sources of every constant and rule: one `sources.bib`, each entry verified against the text or from memory."""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

from isohume.foundation.quantity.errors import UnknownNameError

_ENTRY = re.compile(r"@(\w+)\s*\{\s*([^,\s]+)\s*,(.*?)\n\}", re.DOTALL)
_FIELD = re.compile(r"(\w+)\s*=\s*\{(.*?)\}\s*,?\s*(?=\n|$)", re.DOTALL)


@dataclass(frozen=True, slots=True)
class Source:
    """One source: who, what, when, where, and whether its text was read or is remembered."""

    key: str
    author: str
    title: str
    year: str
    where: str
    verified: str
    note: str

    def __str__(self) -> str:
        mark = "looked up in a text" if self.verified == "text" else "from memory"
        return f"{self.author} ({self.year}): {self.title}. {self.where} [{mark}]".replace(" .", ".")


@cache
def sources() -> dict[str, Source]:
    """All sources by key, as `sources.bib` holds them.

    Returns: key -> Source [text].
    Source: none.
    """
    text = files("isohume.foundation.quantity").joinpath("sources.bib").read_text(encoding="utf-8")
    return {match.group(2): _source(match.group(2), match.group(3)) for match in _ENTRY.finditer(text)}


def _source(key: str, body: str) -> Source:
    fields = {name.lower(): _plain(value) for name, value in _FIELD.findall(body)}
    where = (
        fields.get("journal") or fields.get("institution") or fields.get("publisher") or fields.get("howpublished", "")
    )
    return Source(
        key=key,
        author=fields.get("author", ""),
        title=fields.get("title", ""),
        year=fields.get("year", ""),
        where=where,
        verified=fields.get("verified", "memory"),
        note=fields.get("note", ""),
    )


def _plain(value: str) -> str:
    """A field without BibTeX's braces and escapes."""
    return " ".join(value.replace("{", "").replace("}", "").replace("\\", "").split())


def source(key: str) -> Source:
    """One source by its key.

    key: AuthorYear or the standard's short name [text].
    Returns: the Source [text].
    Raises: UnknownNameError with the nearest keys.
    Source: none.
    """
    known = sources()
    if key not in known:
        import difflib

        raise UnknownNameError("source", key, difflib.get_close_matches(key, known, 3))
    return known[key]
