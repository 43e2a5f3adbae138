"""The entries that wait on this computer, the token they are sent with, and the script that keeps them."""

from __future__ import annotations

from pathlib import Path

from django.http import HttpRequest, HttpResponse, JsonResponse
from django.middleware.csrf import get_token
from django.shortcuts import redirect
from django.views.decorators.http import require_GET

from isohume.outlets.site.config.page import attempt, page
from isohume.outlets.site.outbox.actions.set_aside import SetEntryAside
from isohume.outlets.site.people.pages import shown_to
from isohume.outlets.site.people.roles import EVERYONE

WORKER = Path(__file__).parents[1] / "static" / "outbox" / "worker.js"


@shown_to(EVERYONE)
def outbox(request: HttpRequest) -> HttpResponse:
    """What was entered here while the network was away; an entry that is given up is set aside with a reason."""
    tried = None
    if request.method == "POST":
        tried = attempt(request, lambda f: _set_aside(request, f))
        if tried.done and request.headers.get("Accept") != "application/json":
            return redirect("outbox")
        if request.headers.get("Accept") == "application/json":
            errors = [*tried.reasons, *(f"{name}: {error}" for name, error in tried.errors.items())]
            return JsonResponse({"done": tried.done, "reasons": errors})
    return page(request, "outbox/outbox.html", {}, tried)


def _set_aside(request: HttpRequest, f: dict[str, str]) -> SetEntryAside:
    names = ("words", "typed_at", "fields", "refused", "reason")
    return SetEntryAside(request.user.site, **{name: f.get(name, "") for name in names})


@require_GET
@shown_to(EVERYONE)
def outbox_token(request: HttpRequest) -> HttpResponse:
    """Who is signed in and the token that entries are sent with."""
    return JsonResponse({"person": str(request.user.pk), "token": get_token(request)})


@require_GET
@shown_to(EVERYONE)
def outbox_worker(_request: HttpRequest) -> HttpResponse:
    """The script that stands between the pages and the network; it serves the whole site, so it lies at its root."""
    return HttpResponse(WORKER.read_bytes(), content_type="text/javascript; charset=utf-8")
