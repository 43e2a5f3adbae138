"""Every address of the site, as the URL resolver knows it."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache

from django.urls import URLPattern, URLResolver, get_resolver

_CHOICE = re.compile(r"\(\?P<\w+>((?:[a-z-]+\|)*[a-z-]+)\)")


@dataclass(frozen=True)
class Route:
    """One named address with what varies in it."""

    name: str
    pattern: URLPattern
    arguments: tuple[str, ...]

    @property
    def acts(self) -> tuple[str, ...]:
        """The words that an address of several acts may hold, none where it has one."""
        found = _CHOICE.search(str(self.pattern.pattern))
        return tuple(found[1].split("|")) if found and "act" in self.arguments else ()


@cache
def routes() -> dict[str, Route]:
    """Every route by its name; a name is given once, and none is without."""
    found: dict[str, Route] = {}
    for pattern in _patterns(get_resolver().url_patterns):
        assert pattern.name, f"{pattern.pattern} has no name"
        assert pattern.name not in found, f"two routes are called {pattern.name}"
        found[pattern.name] = Route(pattern.name, pattern, tuple(pattern.pattern.regex.groupindex))
    return found


def _patterns(entries: list[URLPattern | URLResolver]) -> Iterator[URLPattern]:
    for entry in entries:
        if isinstance(entry, URLResolver):
            yield from _patterns(entry.url_patterns)
        else:
            yield entry
