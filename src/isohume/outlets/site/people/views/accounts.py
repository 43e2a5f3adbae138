"""The people of a plant: list, one person, invitations, own password."""

from __future__ import annotations

from django.contrib.auth import authenticate, update_session_auth_hash
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_POST

from isohume.foundation.quantity.errors import InputError
from isohume.outlets.site.config.keys import read_key
from isohume.outlets.site.config.page import Tried, attempt, page
from isohume.outlets.site.ledger.actions import Action
from isohume.outlets.site.ledger.trail import trail_of
from isohume.outlets.site.people.actions.accounts import (
    ChangePassword,
    ChangeRoles,
    InviteAgain,
    InvitePerson,
    SetActive,
    Unlock,
)
from isohume.outlets.site.people.actions.show_competence import ShowCompetence
from isohume.outlets.site.people.models import Person
from isohume.outlets.site.people.pages import shown_to
from isohume.outlets.site.people.proof import Proof, prove
from isohume.outlets.site.people.roles import EVERYONE, Role
from isohume.outlets.site.register.models import Method


@shown_to(EVERYONE)
def people(request: HttpRequest) -> HttpResponse:
    """Who works here, with which roles; an administrator invites."""
    tried = None
    if request.method == "POST":
        tried = attempt(
            request,
            lambda f: InvitePerson(
                request.user.site, f.get("username", ""), f.get("printed_name", ""), request.POST.getlist("roles")
            ),
        )
        if tried.done:
            person, token = tried.result
            return _link(request, person, token)
    listed = Person.objects.filter(site=request.user.site).prefetch_related("competences__method").order_by("username")
    return page(request, "people/people.html", {"people": listed, "roles": list(Role)}, tried)


def _link(request: HttpRequest, person: Person, token: str) -> HttpResponse:
    """Shown once: only its digest is kept."""
    link = request.build_absolute_uri(reverse("set_up", args=[token]))
    return page(request, "people/link.html", {"person": person, "link": link})


@shown_to(EVERYONE)
def person(request: HttpRequest, pk: int) -> HttpResponse:
    """One person: roles, competence, what happened with the account."""
    return _person_page(request, pk, None)


def _person_page(request: HttpRequest, pk: int, tried: Tried | None) -> HttpResponse:
    found = get_object_or_404(Person, pk=pk, site=request.user.site)
    context = {
        "person": found,
        "competences": found.competences.select_related("method").order_by("-lapses_on"),
        "method_options": [(m.pk, m.name) for m in Method.objects.filter(site=request.user.site).order_by("name")],
        "trail": trail_of(found.ref)[-50:],
        "roles": list(Role),
        "today": timezone.localdate(),
    }
    return page(request, "people/person.html", context, tried)


@sensitive_post_parameters("password")
@require_POST
@shown_to(EVERYONE)
def person_act(request: HttpRequest, pk: int, act: str) -> HttpResponse:
    """One change of an account; what may be done is the action's to say."""
    found = get_object_or_404(Person, pk=pk, site=request.user.site)
    tried = attempt(request, lambda f: _action(request, found, act, f))
    if not tried.done:
        return _person_page(request, pk, tried)
    if act == "invite-again":
        return _link(request, found, tried.result)
    return redirect("person", pk)


def _action(request: HttpRequest, found: Person, act: str, f: dict[str, str]) -> Action:
    reason = f.get("reason", "")
    if act == "competence":
        method = Method.objects.filter(pk=read_key(f.get("method", "")), site=request.user.site).first()
        if method is None:
            raise InputError("method", f.get("method", "") or "nothing", "a method of the register")
        return ShowCompetence(found, method, f.get("shown_on", ""), f.get("lapses_on", ""), f.get("evidence", ""))
    if act == "roles":
        return ChangeRoles(found, request.POST.getlist("roles"), reason)
    if act == "invite-again":
        witness, proof = _witness(request, f)
        return InviteAgain(found, witness, proof, reason)
    if act == "unlock":
        return Unlock(found)
    return SetActive(found, act == "activate", reason)


def _witness(request: HttpRequest, f: dict[str, str]) -> tuple[Person | None, Proof | None]:
    username = f.get("witness", "").strip().casefold()
    second = authenticate(request, username=username, password=f.get("password", ""))
    return (second, Proof(second.pk, timezone.now())) if isinstance(second, Person) else (None, None)


@sensitive_post_parameters("password", "new_password", "again")
@shown_to(EVERYONE)
def password(request: HttpRequest) -> HttpResponse:
    """The own password."""
    tried = None
    if request.method == "POST":
        proof = prove(request, request.POST.get("password", ""))
        tried = attempt(request, lambda f: ChangePassword(proof, f.get("new_password", ""), f.get("again", "")))
        if tried.done:
            update_session_auth_hash(request, tried.result)
            return redirect("person", request.user.pk)
        tried.typed = {"": ""}
    return page(request, "people/password.html", {}, tried)
