"""Every page asks who is there: sign-in, roles of the page, idle lock, the plant's time zone."""

from __future__ import annotations

import time
from collections.abc import Callable
from zoneinfo import ZoneInfo

from django.core.exceptions import ImproperlyConfigured
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.utils import timezone
from django.utils.http import urlencode

from isohume.outlets.site.ledger.notes import note
from isohume.outlets.site.people.pages import PUBLIC, refuse_page

SEEN, LOCKED = "seen", "locked"
SEEN_EVERY_S = 30  # a session row is written at most so often


class SignedInMiddleware:
    """Lets a request through to its page, or sends it to sign in, to unlock, or away with the reason."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        user = request.user
        zone = user.site.time_zone if user.is_authenticated else "UTC"
        with timezone.override(ZoneInfo(zone)):
            response = self.get_response(request)
        response.headers.setdefault("Cache-Control", "no-store")
        return response

    def process_view(self, request: HttpRequest, view: Callable, args: tuple, kwargs: dict) -> HttpResponse | None:
        """Called with the page about to be shown."""
        roles = getattr(view, "roles", None)
        if roles is None:
            raise ImproperlyConfigured(f"{view.__module__}.{view.__qualname__} does not say who may see it")
        if roles is PUBLIC:
            return None
        if not request.user.is_authenticated:
            return _to(request, "sign_in")
        if _locked(request) and not getattr(view, "while_locked", False):
            return _to(request, "lock")
        return None if request.user.holds(*roles) else refuse_page(request, roles)


def _locked(request: HttpRequest) -> bool:
    """Whether the person was away longer than the plant allows; being seen is kept in the session."""
    now, session = int(time.time()), request.session
    if session.get(LOCKED):
        return True
    seen = session.get(SEEN, now)
    if now - seen > 60 * request.user.site.idle_minutes:
        session[LOCKED] = True
        person = request.user
        note("locked", person.ref, timezone.now(), person.printed_name, idle_minutes=person.site.idle_minutes)
        return True
    if SEEN not in session or now - seen >= SEEN_EVERY_S:
        session[SEEN] = now
    return False


def _to(request: HttpRequest, name: str) -> HttpResponse:
    back = request.get_full_path() if request.method == "GET" and not request.htmx else "/"
    response = redirect(f"{reverse(name)}?{urlencode({'next': back})}")
    if request.htmx:
        response = HttpResponse(status=204)
        response["HX-Redirect"] = f"{reverse(name)}?{urlencode({'next': back})}"
    return response
