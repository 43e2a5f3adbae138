"""An instrument's adjustments: how far it was moved, as found and as left; and recording one."""

from __future__ import annotations

from datetime import datetime
from zoneinfo import ZoneInfo

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.urls import reverse
from django.utils import timezone

from isohume.bench.assurance import Walked, cumulative_walk
from isohume.bench.assurance.correction import DEFAULT_CAPS, Caps
from isohume.outlets.site.adjustments.actions.record_adjustment import (
    MOST_READINGS,
    RecordAdjustment,
    last_check,
)
from isohume.outlets.site.adjustments.actions.start_correction import StartCorrection
from isohume.outlets.site.adjustments.figures import compared, walk_chart
from isohume.outlets.site.adjustments.models import KINDS, InstrumentAdjustment
from isohume.outlets.site.adjustments.queries import caps_of, correction_in_force, moves_of
from isohume.outlets.site.adjustments.sequence import against_adjusting, open_failure
from isohume.outlets.site.bench.moments import shown_at
from isohume.outlets.site.checks.forms import local_minute
from isohume.outlets.site.checks.models import Check
from isohume.outlets.site.config.page import attempt, by, page
from isohume.outlets.site.ledger.actions import check
from isohume.outlets.site.people.pages import shown_to
from isohume.outlets.site.people.roles import EVERYONE
from isohume.outlets.site.register.models import Instrument
from isohume.outlets.site.register.views.act import offered

MOST = 30
REPORT = {"reference": "Name", "as_found": "As found", "as_left": "As left"}


@shown_to(EVERYONE)
def adjustments(request: HttpRequest, pk: int) -> HttpResponse:
    """How far the instrument was moved, against its cap, and every version of it."""
    found, now = _instrument(request, pk), timezone.now()
    last = last_check(found, now)
    method = last.method_version.method if last else None
    caps = caps_of(method) if method else DEFAULT_CAPS
    walked = cumulative_walk(moves_of(found))
    context = {
        "instrument": found,
        "method": method,
        "caps": caps,
        "cap": f"{caps.walk:g}",
        **_answer(found, walked, caps, now),
        "against": against_adjusting(found, now, last) if open_failure(found, now) else (),
        "chart": walk_chart(walked, caps.walk, ZoneInfo(found.site.time_zone), found.name),
        "adjustments": [compared(one) for one in _recorded(found)],
        "corrections": found.corrections.select_related("by").order_by("-version"),
        "acts": _acts(request, found),
    }
    return page(request, "adjustments/adjustments.html", context)


def _recorded(found: Instrument) -> list[InstrumentAdjustment]:
    known = found.adjustments.select_related("as_found", "by", "instrument")
    return list(known.order_by("-at", "-pk")[:MOST])


def _acts(request: HttpRequest, found: Instrument) -> list[object]:
    return [
        offered(request.user, "Record an adjustment", reverse("adjustment_new", args=[found.pk]), RecordAdjustment),
        offered(request.user, "Correct its readings", reverse("correction_new", args=[found.pk]), StartCorrection),
    ]


def _answer(found: Instrument, walked: tuple[Walked, ...], caps: Caps, now: datetime) -> dict[str, str]:
    correction = correction_in_force(found, now)
    said = f"Correction {correction.version} is in force." if correction else "No correction is in force."
    if not walked:
        return {"answer": "It was not moved: no change of scale is on record", "shape": "pass", "note": said}
    total = walked[-1].total
    within = abs(total) <= caps.walk
    words = f"{total:+.4f} in all, {'within' if within else 'beyond'} the cap of {caps.walk:g}"
    return {"answer": words, "shape": "pass" if within else "fail", "note": said}


@shown_to(EVERYONE)
def adjustment_new(request: HttpRequest, pk: int) -> HttpResponse:
    """The instrument itself was adjusted."""
    found, tried = _instrument(request, pk), None
    if request.method == "POST":
        tried = attempt(request, lambda f: _action(found, f))
        if tried.done:
            return redirect("adjustments", pk)
    now = timezone.now()
    checks = Check.objects.filter(voided_at=None, instrument=found).order_by("-last_read_at", "-pk")[:5]
    rows = range(1, MOST_READINGS + 1)
    context = {
        "instrument": found,
        "verdict": check(_action(found, {}), by(request)),  # what stands against it before anything is typed
        "kinds": KINDS,
        "checks": [(str(c.pk), _named(c)) for c in checks],
        "failed": open_failure(found, now),
        "start_at": local_minute(now),
        "rows": rows,
        "labels": {f"{name}_{n}": f"{label} of reference {n}" for name, label in REPORT.items() for n in rows},
    }
    return page(request, "adjustments/adjustment_new.html", context, tried)


def _instrument(request: HttpRequest, pk: int) -> Instrument:
    return get_object_or_404(Instrument.objects.select_related("site"), pk=pk, site=request.user.site)


def _named(check: Check) -> str:
    when = shown_at(check.last_read_at, check.instrument.site)
    return f"check {check.pk} of {when}, {'passed' if check.passed else 'failed'}"


def _action(found: Instrument, f: dict[str, str]) -> RecordAdjustment:
    key = f.get("as_found", "")
    as_found = found.checks.filter(pk=int(key)).first() if key.isascii() and key.isdigit() and len(key) < 16 else None
    rows = [{name: f.get(f"{name}_{n}", "") for name in REPORT} for n in range(1, MOST_READINGS + 1)]
    given = {name: f.get(name, "") for name in ("what", "done_by", "reason", "at", "certificate")}
    return RecordAdjustment(found, f.get("kind", ""), as_found, readings=rows, **given)
