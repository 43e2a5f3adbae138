"""What the bench does with an entry that waited on a tablet and was refused."""

from __future__ import annotations

from collections.abc import Iterator

from tests.site.acts import Act, Words

ANALYST = "rhale"


def outbox_acts(words: Words) -> Iterator[Act]:
    """It is set aside with what was typed."""
    typed = {
        "words": words("run of cup SB-0916-03 / 1 / A", 200),
        "typed_at": "2026-09-16T09:00:00Z",
        "fields": '{"a_w": "0.652"}',
        "refused": words("Cup A was discarded", 2000),
        "reason": words("Keyed on the other tablet", 300),
    }
    yield Act("entry_set_aside", "outbox", (), ANALYST, typed)
