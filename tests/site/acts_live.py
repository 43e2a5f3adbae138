"""What a person does at the live page for himself; starting, accepting and voiding runs are in acts_captures."""

from __future__ import annotations

from collections.abc import Iterator

from tests.site.acts import Act, Words

ANALYST = "rhale"


def live_acts(words: Words) -> Iterator[Act]:
    """How to be told of runs: anybody chooses for himself."""
    yield Act("notices_chosen", "live_notices", (), ANALYST, {"sound": "on"})
