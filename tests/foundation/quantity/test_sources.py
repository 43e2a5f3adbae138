"""One bibliography: complete entries, a trust mark on each, and every key that data files name is there."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from isohume.foundation.quantity import UnknownNameError
from isohume.foundation.quantity.sources import source, sources

DATA = sorted((Path(__file__).parents[3] / "src" / "isohume" / "foundation").rglob("*.json"))


@pytest.mark.parametrize("key", sources())
def test_every_entry_is_complete(key: str) -> None:
    found = source(key)
    assert found.author
    assert found.title
    assert found.year.isdigit()
    assert found.verified in ("text", "memory")
    assert str(found).endswith("[looked up in a text]" if found.verified == "text" else "[from memory]")


def test_an_unknown_key_lists_the_nearest() -> None:
    with pytest.raises(UnknownNameError, match="Greenspan1977"):
        source("Greenspan1978")


def named_sources(content: Any) -> set[str]:
    """Every value of a key called source, anywhere in a data file."""
    if isinstance(content, dict):
        own = {content["source"]} if isinstance(content.get("source"), str) else set()
        return own.union(*(named_sources(value) for value in content.values()), set())
    return set().union(*(named_sources(value) for value in content)) if isinstance(content, list) else set()


@pytest.mark.parametrize("path", DATA, ids=lambda p: p.name)
def test_data_files_name_known_sources(path: Path) -> None:
    for key in named_sources(json.loads(path.read_text(encoding="utf-8"))):
        assert key in sources() or key.startswith(("none", "no source")), key
