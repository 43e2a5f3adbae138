"""A row of the grid is saved once: sent again after a lost answer, it finds the run that it made the first time."""

from __future__ import annotations

import re
import secrets

from isohume.outlets.site.bench.models import Portion, Run
from isohume.outlets.site.ledger.trail import trail_of

_MARK = re.compile(r"[0-9a-f]{16}", re.ASCII)


def fresh_mark() -> str:
    """The mark of a row that is about to be shown."""
    return secrets.token_hex(8)


def read_mark(typed: str) -> str:
    """The mark that came back with a row; anything else is none."""
    return typed if _MARK.fullmatch(typed) else ""


def saved_before(portion: Portion, mark: str) -> tuple[Run, str] | None:
    """The run that a row with this mark made, and which read of the cup it was; None where it made none."""
    if not mark:
        return None
    for line in trail_of(portion.ref):
        if line.details.get("mark") == mark:
            run = portion.runs.select_related("instrument").get(pk=int(line.details["run"]))
            return run, line.details["read"]
    return None
