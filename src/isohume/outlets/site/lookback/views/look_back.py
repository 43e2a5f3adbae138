"""The look-back of a failed check: its page, the act that holds the list, its sheet."""

from __future__ import annotations

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils import timezone
from django.views.decorators.http import require_POST

from isohume.outlets.site.checks.models import Check
from isohume.outlets.site.config.page import Tried, attempt, page
from isohume.outlets.site.lookback.actions.ask_sheet import AskSheet
from isohume.outlets.site.lookback.actions.hold_list import HoldList
from isohume.outlets.site.lookback.hows import hows_of
from isohume.outlets.site.lookback.page import LookBackPage, look_back_page
from isohume.outlets.site.lookback.pictures import picture_of
from isohume.outlets.site.lookback.screen import BIAS, LOTS, screen_bias, screen_lots
from isohume.outlets.site.lookback.words import conforms, corrected_words, held_words, u_words
from isohume.outlets.site.people.pages import shown_to
from isohume.outlets.site.people.roles import EVERYONE
from isohume.outlets.site.register.views.act import offered


@shown_to(EVERYONE)
def look_back(request: HttpRequest, pk: int) -> HttpResponse:
    """The lots at risk, worst first."""
    return _show(request, _check(request, pk), None)


@require_POST
@shown_to(EVERYONE)
def look_back_hold(request: HttpRequest, pk: int) -> HttpResponse:
    """Hold the whole list; done twice it holds nothing twice."""
    found = _check(request, pk)
    tried = attempt(request, lambda f: HoldList(found, f.get("hold_reason", "")))
    return redirect("look_back", pk) if tried.done else _show(request, found, tried)


@require_POST
@shown_to(EVERYONE)
def look_back_sheet(request: HttpRequest, pk: int) -> HttpResponse:
    """Ask the worker for the sheet."""
    found = _check(request, pk)
    tried = attempt(request, lambda f: AskSheet(found, f.get("paper", "a4")))
    return redirect("job", tried.result.pk) if tried.done else _show(request, found, tried)


def _check(request: HttpRequest, pk: int) -> Check:
    known = Check.objects.select_related("instrument__site", "by", "voided_by")
    return get_object_or_404(known, pk=pk, instrument__site=request.user.site)


def _show(request: HttpRequest, found: Check, tried: Tried | None) -> HttpResponse:
    context: dict[str, Any] = {"check": found, "page": None}
    if not found.passed and found.voided_at is None:
        context |= _looked(request, look_back_page(found, timezone.now()))
    return page(request, "lookback/look_back.html", context, tried)


def _looked(request: HttpRequest, shown: LookBackPage) -> dict[str, Any]:
    spec = picture_of(shown)
    name, pk = shown.check.instrument.name, shown.check.pk
    return {
        "page": shown,
        "lots": screen_lots(spec) if shown.rows else None,
        "lots_headers": LOTS,
        "bias": screen_bias(spec),
        "bias_headers": BIAS,
        "hows": hows_of(shown.looked.back),
        "conforms": conforms,
        "corrected": corrected_words,
        "u_of": u_words,
        "held": [held_words(hold, shown) for hold in shown.holds],
        "may_hold": offered(request.user, "Hold the list", "", HoldList),
        "start_reason": f"Check {pk} of {name} failed: read since its last good check",
    }
