"""After a failed check: what is done, what comes next, what is refused and why."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_POST

from isohume.bench.assurance import Sequence
from isohume.outlets.site.adjustments.actions.log_fresh_portion import LogFreshPortion
from isohume.outlets.site.adjustments.models import FreshPortion
from isohume.outlets.site.adjustments.queries import adjustment_events
from isohume.outlets.site.adjustments.sequence import failure_of, sequence_of
from isohume.outlets.site.checks.advice import step_of
from isohume.outlets.site.checks.bottles import pick_list
from isohume.outlets.site.checks.forms import local_minute
from isohume.outlets.site.checks.models import Check, Cleaning
from isohume.outlets.site.checks.queries import gate
from isohume.outlets.site.config.page import Tried, attempt, page
from isohume.outlets.site.people.pages import shown_to
from isohume.outlets.site.people.roles import EVERYONE

NOTE = "As found stays on record. The order is practice: what is careful may come earlier, nothing careful is left out."
MOST = 40
NEXT = {
    "repeat": "Repeat the check once, as it is",
    "fresh portion": "Read a fresh portion of the reference",
    "clean": "Clean, and log it",
    "check after cleaning": "Repeat the check after the cleaning",
    "second lot": "Read a second lot of the reference",
    "adjust": "Adjust it, or take it out of use",
    "as left": "Read the as-left check",
    "withdraw": "Take it out of use",
}


@shown_to(EVERYONE)
def check_sequence(request: HttpRequest, pk: int) -> HttpResponse:
    """The guided sequence of a failed check."""
    return _page(request, _check(request, pk), None)


@require_POST
@shown_to(EVERYONE)
def fresh_portion(request: HttpRequest, pk: int) -> HttpResponse:
    """A fresh portion was poured."""
    asked = _check(request, pk)
    tried = attempt(request, lambda f: LogFreshPortion(asked, f.get("bottle", ""), f.get("at", "")))
    return redirect("check_sequence", pk) if tried.done else _page(request, asked, tried)


def _check(request: HttpRequest, pk: int) -> Check:
    known = Check.objects.select_related("instrument__site").filter(passed=False, voided_at=None)
    return get_object_or_404(known, pk=pk, instrument__site=request.user.site)


def _page(request: HttpRequest, asked: Check, tried: Tried | None) -> HttpResponse:
    failed, now = failure_of(asked), timezone.now()
    found = sequence_of(failed)
    context = {
        "asked": asked,
        "failed": failed,
        **_answer(found, failed),
        "steps": [(step_of(rule), rule.why) for rule in found.steps],
        "passed": found.passed,
        "open": found.passed is None,
        "bottles": pick_list(request.user.site, now),
        "start_at": local_minute(now),
        "events": _events(failed, found),
        "gate_now": gate(failed.instrument, now),
    }
    return page(request, "adjustments/sequence.html", context, tried)


def _answer(found: Sequence, failed: Check) -> dict[str, str]:
    if found.passed is not None:
        words = f"It passed again: {found.passed.name}. Decide about the lots, and close the deviation"
        return {"answer": words, "shape": "pass", "note": NOTE}
    if not failed.instrument.in_use:
        return {"answer": "It is out of use: label it, and look at what it affected", "shape": "hold", "note": NOTE}
    step = found.recommended
    return {"answer": NEXT[step.key] if step else "Nothing more", "shape": "due", "note": NOTE}


def _events(failed: Check, found: Sequence) -> list[tuple[datetime, str, str]]:
    """Checks, cleanings, portions and changes of scale since the failure, oldest first, with their pages."""
    end = {} if found.passed is None else {"at__lte": found.passed.last_read_at}
    checks = Check.objects.filter(
        voided_at=None, instrument=failed.instrument_id, last_read_at__gte=failed.last_read_at
    )
    if found.passed is not None:
        checks = checks.filter(last_read_at__lte=found.passed.last_read_at)
    events: list[tuple[datetime, str, str]] = [
        (c.last_read_at, f"check {c.pk} {'passed' if c.passed else 'failed'}", reverse("check", args=[c.pk]))
        for c in checks.order_by("last_read_at", "pk")[:MOST]
    ]
    since: dict[str, Any] = {"at__gt": failed.last_read_at, **end}
    cleaned = Cleaning.objects.filter(instrument=failed.instrument_id, **since)[:MOST]
    events += [(c.at, f"cleaned: {c.what}", "") for c in cleaned]
    poured = FreshPortion.objects.filter(failed_check=failed, **since).select_related("bottle__solution_lot")[:MOST]
    events += [(f.at, f"fresh portion of {f.bottle.solution_lot.name}", "") for f in poured]
    moved = adjustment_events(failed.instrument).filter(**since)[:MOST]
    events += [(m.at, m.words, reverse("adjustments", args=[failed.instrument_id])) for m in moved]
    return sorted(events, key=lambda event: event[0])
