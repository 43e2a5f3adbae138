"""Who has said what a captured run was of: whoever put the cup in, or named it, has seen its number grow."""

from __future__ import annotations

import json

from django.db import connection
from django.db.models import Q

from isohume.outlets.site.captures.models import CapturedRun, Expected
from isohume.outlets.site.ledger.models import TrailLine
from isohume.outlets.site.people.models import Person


def first_persons(run: CapturedRun) -> list[Person]:
    """Everybody who ever expected it, or said whose it was, also where another person said otherwise since."""
    expected = Expected.objects.filter(taken=run).values_list("by", flat=True)
    known = Q(pk__in=[*expected, run.assigned_by_id]) | Q(username__in=_assigned_by(run))
    return list(Person.objects.filter(known).order_by("pk"))


def _assigned_by(run: CapturedRun) -> set[str]:
    """The run keeps the last one; the ledger keeps them all."""
    lines = list(TrailLine.objects.filter(ref=run.ref).order_by("seq").values_list("seq", flat=True))
    if not lines:
        return set()
    marks = ",".join(["%s"] * len(lines))
    with connection.cursor() as cursor:
        cursor.execute(f"SELECT payload FROM ledger WHERE kind = 'captured_run_assigned' AND seq IN ({marks})", lines)
        return {str(json.loads(payload).get("by", "")) for (payload,) in cursor.fetchall()}
