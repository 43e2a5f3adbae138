"""One check: does this instrument tell the truth?"""

from __future__ import annotations

from datetime import timedelta
from typing import Any
from zoneinfo import ZoneInfo

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils import timezone
from django.views.decorators.http import require_POST

from isohume.outlets.site.checks.actions.void_check import VoidCheck
from isohume.outlets.site.checks.advice import steps_after
from isohume.outlets.site.checks.giving import against_giving
from isohume.outlets.site.checks.history import history
from isohume.outlets.site.checks.how_shown import how_shown
from isohume.outlets.site.checks.judged import figures_of, judged_of
from isohume.outlets.site.checks.lines import line_of_check
from isohume.outlets.site.checks.lots_of_check import lots_protected, lots_since_last_good
from isohume.outlets.site.checks.models import Check
from isohume.outlets.site.checks.pictures import HEADERS, charts_of
from isohume.outlets.site.checks.queries import gate
from isohume.outlets.site.config.page import Tried, attempt, page
from isohume.outlets.site.ledger.trail import trail_of
from isohume.outlets.site.look.screen_line import screen_line
from isohume.outlets.site.people.pages import shown_to
from isohume.outlets.site.people.roles import EVERYONE

AFTERWARDS = timedelta(days=7)  # the chart shows what came of it


@shown_to(EVERYONE)
def check(request: HttpRequest, pk: int) -> HttpResponse:
    """References, verdict, why, what next, and the weeks before."""
    return _page(request, pk)


@require_POST
@shown_to(EVERYONE)
def check_void(request: HttpRequest, pk: int) -> HttpResponse:
    """Void it for a cause; who may is the action's to say."""
    found = get_object_or_404(Check, pk=pk, instrument__site=request.user.site)
    tried = attempt(request, lambda f: VoidCheck(found, f.get("reason", "")))
    return redirect("check", pk) if tried.done else _page(request, pk, tried)


def _page(request: HttpRequest, pk: int, tried: Tried | None = None) -> HttpResponse:
    site, now = request.user.site, timezone.now()
    found = get_object_or_404(
        Check.objects.select_related(
            "instrument__site", "method_version__method", "by", "cleaning__by", "start_sheet", "voided_by"
        ),
        pk=pk,
        instrument__site=site,
    )
    standing = gate(found.instrument, now)
    gives_none = against_giving(found)
    weeks = history(found.instrument, min(now, found.last_read_at + AFTERWARDS))
    context = {
        "check": found,
        "gate_now": standing,
        "gives_none": gives_none,
        "line": screen_line(line_of_check(found, speaks=not gives_none)),
        "steps": steps_after(found, standing.check, gives_none),
        "readings": found.readings.select_related("bottle__solution_lot").order_by("read_at", "pk"),
        "protected": lots_protected(found) if found.kind == "opening" else (),
        "at_risk": lots_since_last_good(found) if not found.passed and found.voided_at is None else (),
        "deviations": found.deviations.select_related("owner").order_by("pk"),
        "charts": charts_of(weeks, ZoneInfo(site.time_zone)),
        "chart_headers": HEADERS,
        "trail": trail_of(found.ref),
        **_figures(found),
    }
    return page(request, "checks/check.html", context, tried)


def _figures(found: Check) -> dict[str, Any]:
    judged = judged_of(found)
    hows = {name: how_shown(how) for name, how in figures_of(judged, found.u_instrument).items()}
    return {"judged": judged, "hows": hows}
