"""Lines that no action leaves: sign-ins, failed attempts, lock-outs. They speak of a person, or of an unknown name."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from isohume.bench.record.canonical_form import canonical
from isohume.outlets.site.ledger.models import TrailLine
from isohume.outlets.site.ledger.writing import writing

NOTES = {
    "signed_in": "Signed in",
    "sign_in_failed": "Tried to sign in with a wrong password",
    "locked_out": "Locked out after failed attempts",
    "site_set_up": "Set up the plant",
    "record": "Froze a record",
    "signature": "Signed",
    "file": "Kept a file",
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
