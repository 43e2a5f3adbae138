"""The live page: what the instruments read now, and what a person does about it without leaving it."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils import timezone
from django.views.decorators.http import require_POST

from isohume.foundation.quantity.errors import InputError
from isohume.outlets.site.bench.actions.record_run import Recorded
from isohume.outlets.site.captures.actions.accept_run import AcceptRun
from isohume.outlets.site.captures.actions.assign_run import AssignRun
from isohume.outlets.site.captures.actions.choose_notices import ChooseNotices
from isohume.outlets.site.captures.actions.expect_run import ExpectRun
from isohume.outlets.site.captures.actions.void_captured import VoidCaptured
from isohume.outlets.site.captures.causes import CAUSES
from isohume.outlets.site.captures.live_state import live_page
from isohume.outlets.site.captures.models import CapturedRun
from isohume.outlets.site.captures.queries import captured_of
from isohume.outlets.site.captures.whose import of_typed
from isohume.outlets.site.config.keys import read_key
from isohume.outlets.site.config.page import Tried, attempt, page
from isohume.outlets.site.people.models import Site
from isohume.outlets.site.people.pages import shown_to
from isohume.outlets.site.people.roles import EVERYONE
from isohume.outlets.site.register.models import Instrument

INSTRUMENT = "iso:i:"


@shown_to(EVERYONE)
def live(request: HttpRequest) -> HttpResponse:
    """Every instrument in use; what it reads comes by the stream."""
    return _page(request)


@require_POST
@shown_to(EVERYONE)
def live_next(request: HttpRequest) -> HttpResponse:
    """Say what the next run of an instrument is of, or what a run that goes on is of."""
    key = request.POST.get("run", "")
    run = get_object_or_404(captured_of(request.user.site), pk=read_key(key)) if key else None

    def make(f: dict[str, str]) -> ExpectRun | AssignRun:
        portion, bottle = of_typed(f.get("of", "").strip() or f.get("choice", ""), request.user.site)
        if run is not None:
            return AssignRun(run, portion, bottle, f.get("reason", ""))
        instrument = scanned_instrument(f.get("instrument", ""), request.user.site)
        return ExpectRun(instrument, portion, bottle, f.get("override_reason", ""), f.get("reason", ""))

    tried = attempt(request, make)
    return _answer(request, tried, lambda result: f"{result.of_words}: {'kept' if run else 'start the run now'}.")


@require_POST
@shown_to(EVERYONE)
def live_act(request: HttpRequest, pk: int, act: str) -> HttpResponse:
    """Accept or void a captured run."""
    run = get_object_or_404(captured_of(request.user.site), pk=pk)
    tried = attempt(request, lambda f: _accept(run, f) if act == "accept" else _void(run, f))
    return _answer(request, tried, _said_of_accepted if act == "accept" else lambda _: "Voided, with its cause.")


@require_POST
@shown_to(EVERYONE)
def live_notices(request: HttpRequest) -> HttpResponse:
    """Keep how a person wants to be told."""
    tried = attempt(request, lambda f: ChooseNotices(request.user, f.get("sound") == "on", f.get("browser") == "on"))
    return _answer(request, tried, lambda _: "Your choice is kept.")


def _accept(run: CapturedRun, f: dict[str, str]) -> AcceptRun:
    names = ("sample_temperature_c", "block_temperature_c", "override_reason", "reason")
    return AcceptRun(run, *(f.get(name, "") for name in names))


def _void(run: CapturedRun, f: dict[str, str]) -> VoidCaptured:
    return VoidCaptured(run, f.get("cause", ""), f.get("reason", ""))


def _said_of_accepted(recorded: Recorded) -> str:
    run = recorded.run
    kept = f"Accepted: run {run.pk} of {run.portion}, {run.a_w}, {recorded.read}."
    return " ".join([kept, *recorded.warnings, *filter(None, [run.plausibility])])


def _answer(request: HttpRequest, tried: Tried, said: Callable[[Any], str]) -> HttpResponse:
    """To the page's script in JSON; without it the page again."""
    if request.headers.get("Accept", "").startswith("application/json"):
        found = {"done": tried.done, "reasons": tried.reasons, "errors": tried.errors}
        if tried.done:
            found["said"] = said(tried.result)
        return JsonResponse(found, status=200 if tried.done else 422)
    return redirect("live") if tried.done else _page(request, tried)


def _page(request: HttpRequest, tried: Tried | None = None) -> HttpResponse:
    context = {"page": live_page(request.user.site, request.user, timezone.now()), "causes": list(CAUSES.items())}
    return page(request, "captures/live.html", context, tried)


def scanned_instrument(typed: str, site: Site) -> Instrument:
    """The instrument of a scanned or chosen code."""
    key = read_key(typed.strip().lower().removeprefix(INSTRUMENT))
    found = Instrument.objects.filter(site=site, pk=key).first()
    if found is None:
        raise InputError("instrument", typed or "nothing", "an instrument of the register")
    return found
