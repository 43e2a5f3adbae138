"""Lines that no action leaves: sign-ins, failed attempts, lock-outs. They speak of a person, or of an unknown name."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import Any

from django.db import connection

from isohume.bench.record.canonical_form import canonical
from isohume.outlets.site.ledger.models import TrailLine
from isohume.outlets.site.ledger.writing import writing

NOTES = {
    "signed_in": "Signed in",
    "signed_out": "Signed out",
    "locked": "Locked the screen",
    "unlocked_screen": "Unlocked the screen",
    "sign_in_failed": "Tried to sign in with a wrong password",
    "locked_out": "Locked out after failed attempts",
    "site_set_up": "Set up the plant",
    "record": "Froze a record",
    "signature": "Signed",
    "file": "Kept a file",
    "study_fitted": "Fitted a study",
    "run_captured": "Captured a run",
    "line_unread": "Sent a line that no rule reads",
}


def note(kind: str, ref: str, at: datetime, name: str, **details: Any) -> None:
    """One line about an event.

    kind: one of NOTES. ref: what it happened to. name: who did it, as printed.
    """
    payload: dict[str, Any] = {"about": [ref], "by": name, "name": name}
    if details:
        payload["details"] = details
    with writing(at) as evidence:
        entry = evidence.append(kind, ref, canonical(payload))
        TrailLine.objects.create(ref=ref, seq=entry.seq)


def note_rarely(
    kind: str, ref: str, at: datetime, name: str, every: timedelta, *, known: bool = True, **details: Any
) -> None:
    """One line about an event that anybody can repeat at will: the first one, then at most one in a while.

    known: whether there is such an object; where there is none the same is looked up, and nothing is written.
    """
    with writing(at):
        last = moments_of(kind, ref)[-1:]
        if known and not (last and at - last[0] < every):
            note(kind, ref, at, name, **details)


def moments_of(kind: str, ref: str) -> list[datetime]:
    """When the lines of a kind about an object were written, oldest first."""
    seqs = TrailLine.objects.filter(ref=ref).values("seq").query
    sql, given = seqs.sql_with_params()
    with connection.cursor() as cursor:
        cursor.execute(f"SELECT at FROM ledger WHERE kind = %s AND seq IN ({sql}) ORDER BY seq", (kind, *given))
        return [datetime.fromisoformat(at) for (at,) in cursor.fetchall()]
