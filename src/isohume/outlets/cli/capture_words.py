"""`isohume capture --status` as a person reads it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from isohume.outlets.cli.output import facts, parts, table

if TYPE_CHECKING:
    from isohume.outlets.capture.status import Status


def status_words(status: Status) -> str:
    """What waits first, then why, then the instruments."""
    waiting = f"{status.waiting} entries" if status.waiting else "nothing"
    if status.oldest_waiting_at:
        waiting += f", the oldest of {status.oldest_waiting_at}"
    delivery = f"{status.delivery} (since {status.delivery_at})" if status.delivery else "nothing was sent yet"
    rows = [
        ("waiting for the site", waiting),
        ("last delivered", f"entry {status.acknowledged} of {status.last}"),
        ("delivery", delivery),
        ("agent", "running" if status.running else "not running"),
        ("lines not understood", str(status.unread)),
        ("spool", status.spool),
    ]
    if status.disk:
        rows.insert(0, ("disk", status.disk))
    instruments = [
        (one.name, one.run or "none", str(one.readings), str(one.said_before), one.source or "nothing heard yet")
        for one in status.instruments
    ]
    header = ("instrument", "open run", "readings", "said twice", "source")
    return parts(facts(rows), table(header, instruments, right=(2, 3)) if instruments else "")
