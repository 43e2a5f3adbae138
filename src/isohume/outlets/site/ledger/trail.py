"""The trail of an object: every line that speaks of it, in order, as people read it."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from django.db import connection

from isohume.outlets.site.ledger.actions import ACTIONS
from isohume.outlets.site.ledger.in_words import label, words
from isohume.outlets.site.ledger.models import TrailLine
from isohume.outlets.site.ledger.notes import NOTES


@dataclass(frozen=True, slots=True)
class Said:
    """One line of a trail."""

    seq: int
    at: str
    kind: str
    said: str
    by: str
    details: dict[str, Any]
    reason: str
    digest: str

    @property
    def facts(self) -> list[tuple[str, str]]:
        """The details as people read them."""
        return [(label(name), words(name, value)) for name, value in self.details.items()]


def trail_of(*refs: str) -> list[Said]:
    """Every ledger line that speaks of these objects, oldest first."""
    seqs = sorted(set(TrailLine.objects.filter(ref__in=refs).values_list("seq", flat=True)))
    return lines_at(seqs)


def last_line() -> int:
    """The number of the ledger's last line, 0 where it has none."""
    with connection.cursor() as cursor:
        cursor.execute("SELECT coalesce(max(seq), 0) FROM ledger")
        return int(cursor.fetchone()[0])


def lines_at(seqs: Sequence[int]) -> list[Said]:
    """The ledger lines at these places."""
    found: list[Said] = []
    with connection.cursor() as cursor:
        for start in range(0, len(seqs), 500):
            part = seqs[start : start + 500]
            marks = ",".join(["%s"] * len(part))
            cursor.execute(
                f"SELECT seq, at, kind, payload, digest FROM ledger WHERE seq IN ({marks}) ORDER BY seq", part
            )
            found += [_said(*row) for row in cursor.fetchall()]
    return found


def _said(seq: int, at: str, kind: str, payload: bytes, digest: str) -> Said:
    content = json.loads(payload)
    action = ACTIONS.get(kind)
    said = action.said if action else NOTES.get(kind, kind)
    details = content.get("details") or {}
    name = content.get("name") or content.get("printed_name") or content.get("by", "")
    return Said(seq, at, kind, said, name, details, content.get("reason", ""), digest)
