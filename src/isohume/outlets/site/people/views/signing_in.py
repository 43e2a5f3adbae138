"""Signing in and out, the idle lock, and the one-time set-up link."""

from __future__ import annotations

import time
from datetime import timedelta

from django.conf import settings
from django.contrib.auth import authenticate, login, logout
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils import timezone
from django.utils.http import url_has_allowed_host_and_scheme
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_POST

from isohume.foundation.quantity.errors import InputError, shown
from isohume.outlets.site.config.page import Tried, page
from isohume.outlets.site.ledger.actions import By, Refused, perform
from isohume.outlets.site.ledger.notes import note, note_rarely
from isohume.outlets.site.people.actions.accounts import SetPassword
from isohume.outlets.site.people.middleware import LOCKED, SEEN
from isohume.outlets.site.people.models import Person
from isohume.outlets.site.people.pages import public, shown_to, while_locked
from isohume.outlets.site.people.roles import EVERYONE, Role
from isohume.outlets.site.people.setup import open_invitation, set_up

BACKEND = "django.contrib.auth.backends.ModelBackend"
NOBODY = "person:0"
SOMEBODY = "somebody"  # who tried is not known: it is not the person of the account
TIME_ZONES = ("Europe/London", "Europe/Berlin", "America/New_York", "America/Chicago", "Asia/Singapore", "UTC")


def _next(request: HttpRequest) -> str:
    wanted = request.POST.get("next") or request.GET.get("next") or "/"
    inside = url_has_allowed_host_and_scheme(wanted, {request.get_host()}, require_https=request.is_secure())
    return wanted if inside and wanted.startswith("/") else "/"


def _why_not(request: HttpRequest, username: str) -> str:
    """The failed attempt is kept, at most one a minute; the words never say which half was wrong."""
    person = Person.objects.filter(username=username).first()
    locked = bool(getattr(request, "axes_locked_out", False))
    kind = "locked_out" if locked else "sign_in_failed"
    every = timedelta(hours=settings.AXES_COOLOFF_TIME) if locked else timedelta(minutes=1)
    note_rarely(kind, person.ref if person else NOBODY, timezone.now(), SOMEBODY, every, known=person is not None)
    if locked:
        return "Too many failed attempts: this account is locked for 15 minutes, or until an administrator unlocks it."
    return "User name and password do not go together, or the account is not active."


@sensitive_post_parameters("password")
@public
def sign_in(request: HttpRequest) -> HttpResponse:
    """User name and password, both."""
    if request.method != "POST":
        return page(request, "people/sign_in.html", {"next": _next(request)})
    username = request.POST.get("username", "").strip().casefold()
    person = authenticate(request, username=username, password=request.POST.get("password", ""))
    if person is None:
        tried = Tried(reasons=[_why_not(request, username)], typed={"username": username})
        return page(request, "people/sign_in.html", {"next": _next(request)}, tried, status=403)
    login(request, person)
    request.session.pop(LOCKED, None)  # the password was given just now
    request.session[SEEN] = int(time.time())
    note("signed_in", person.ref, timezone.now(), person.printed_name)
    return redirect(_next(request))


@require_POST
@while_locked
@shown_to(EVERYONE)
def sign_out(request: HttpRequest) -> HttpResponse:
    """Ends the session."""
    note("signed_out", request.user.ref, timezone.now(), request.user.printed_name)
    logout(request)
    return redirect("sign_in")


@sensitive_post_parameters("password")
@while_locked
@shown_to(EVERYONE)
def lock(request: HttpRequest) -> HttpResponse:
    """The session waits until its person gives the password again; nobody else can take it over."""
    if request.method != "POST":
        return page(request, "people/lock.html", {"next": _next(request)})
    if "password" not in request.POST:
        if not request.session.get(LOCKED):
            request.session[LOCKED] = True
            note("locked", request.user.ref, timezone.now(), request.user.printed_name)
        return redirect(f"/lock/?next={_next(request)}")
    person = authenticate(request, username=request.user.username, password=request.POST["password"])
    if person is None or person.pk != request.user.pk:
        tried = Tried(reasons=[_why_not(request, request.user.username)], typed={"": ""})
        return page(request, "people/lock.html", {"next": _next(request)}, tried, status=403)
    request.session.pop(LOCKED, None)
    request.session[SEEN] = int(time.time())
    request.session.cycle_key()
    note("unlocked_screen", person.ref, timezone.now(), person.printed_name)
    return redirect(_next(request))


@sensitive_post_parameters("new_password", "again")
@public
def set_up_page(request: HttpRequest, token: str) -> HttpResponse:
    """The one-time link: the first administrator sets the plant up; anybody invited sets a password."""
    invitation = open_invitation(token, timezone.now())
    if invitation is None:
        said = "This link was used, or has expired. Ask your administrator for another, or start the site anew."
        return page(request, "people/error.html", {"said": said}, status=410)
    context = {"person": invitation.person, "zones": TIME_ZONES, "roles": list(Role)}
    if request.method != "POST":
        return page(request, "people/set_up.html", context)
    form, at = request.POST.dict(), timezone.now()
    try:
        if invitation.person is None:
            person = set_up(invitation, form, request.POST.getlist("roles"), at)
        else:
            action = SetPassword(token, form.get("new_password", ""), form.get("again", ""))
            person = perform(action, By(invitation.person, at))
    except (InputError, Refused) as error:
        return page(request, "people/set_up.html", context, _tried(error, form))
    login(request, person, BACKEND)
    request.session[SEEN] = int(time.time())
    return redirect("today")


def _tried(error: InputError | Refused, form: dict[str, str]) -> Tried:
    typed = {k: v for k, v in form.items() if k not in ("new_password", "again", "csrfmiddlewaretoken")} or {"": ""}
    if isinstance(error, Refused):
        return Tried(reasons=list(error.reasons), typed=typed)
    return Tried(errors={error.field: f"read {shown(error.value)}; allowed: {error.allowed}"}, typed=typed)
