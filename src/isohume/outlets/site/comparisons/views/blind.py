"""Blind references: set for somebody, read without knowing the value, decided on by a manager."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import reverse

from isohume.outlets.site.comparisons import forms
from isohume.outlets.site.comparisons.actions.decide_blind_reference import DecideBlindReference
from isohume.outlets.site.comparisons.actions.read_blind_reference import ReadBlindReference
from isohume.outlets.site.comparisons.actions.set_blind_reference import SetBlindReference
from isohume.outlets.site.comparisons.models import BlindReference
from isohume.outlets.site.comparisons.queries import blind_references_of, deviations_about
from isohume.outlets.site.config.page import page
from isohume.outlets.site.people.models import Person
from isohume.outlets.site.people.pages import shown_to
from isohume.outlets.site.people.roles import EVERYONE
from isohume.outlets.site.register.views.act import Offered, act_page, offered

MOST = 60


@shown_to(EVERYONE)
def blind_references(request: HttpRequest) -> HttpResponse:
    """All of them, the newest first; a value that was not read stays hidden."""
    found = blind_references_of(request.user.site)[:MOST]
    mine = [one for one in found if one.person_id == request.user.pk and not one.read_at]
    add = offered(request.user, "Set blind reference", "", SetBlindReference)
    return page(request, "comparisons/blind_references.html", {"found": found, "mine": mine, "add": add})


@shown_to(EVERYONE)
def blind_new(request: HttpRequest) -> HttpResponse:
    """Set one."""
    return act_page(request, forms.new_blind(request.user.site, request.user))


@shown_to(EVERYONE)
def blind_reference(request: HttpRequest, pk: int) -> HttpResponse:
    """One of them: what it showed, or what comes next."""
    found = get_object_or_404(blind_references_of(request.user.site), pk=pk)
    context = {
        "blind": found,
        "next": _next(request.user, found),
        "deviations": deviations_about(found.ref, found.site),
    }
    return page(request, "comparisons/blind_reference.html", context)


def _next(me: Person, found: BlindReference) -> Offered | None:
    """Reading is for one person; deciding for a manager who is another."""
    if not found.read_at:
        url = reverse("blind_read", args=[found.pk])
        if me.pk == found.person_id:
            return offered(me, "Record reading", url, ReadBlindReference)
        return Offered("Record reading", url, False, f"Record reading: this is for {found.person}.")
    if not found.decided_at:
        return offered(me, "Record decision", reverse("blind_decide", args=[found.pk]), DecideBlindReference)
    return None


@shown_to(EVERYONE)
def blind_read(request: HttpRequest, pk: int) -> HttpResponse:
    """The reading."""
    return act_page(request, forms.read_blind(get_object_or_404(blind_references_of(request.user.site), pk=pk)))


@shown_to(EVERYONE)
def blind_decide(request: HttpRequest, pk: int) -> HttpResponse:
    """The decision."""
    return act_page(request, forms.decide_blind(get_object_or_404(blind_references_of(request.user.site), pk=pk)))
