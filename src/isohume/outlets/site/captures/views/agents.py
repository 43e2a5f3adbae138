"""Bench agents: which bring runs, when each was heard last, what waits there; registering and revoking."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_POST

from isohume.outlets.site.captures.actions.register_agent import RegisterAgent
from isohume.outlets.site.captures.actions.revoke_agent import RevokeAgent
from isohume.outlets.site.captures.agent_words import seen
from isohume.outlets.site.captures.models import Agent
from isohume.outlets.site.captures.queries import captured_of
from isohume.outlets.site.config.page import Tried, attempt, page
from isohume.outlets.site.ledger.trail import trail_of
from isohume.outlets.site.people.pages import shown_to
from isohume.outlets.site.people.roles import EVERYONE
from isohume.outlets.site.register.views.act import offered

MOST_RUNS = 20


@shown_to(EVERYONE)
def agents(request: HttpRequest) -> HttpResponse:
    """Every agent of the plant; a manager registers another one, and its token is shown once."""
    site, tried = request.user.site, None
    if request.method == "POST":
        tried = attempt(request, lambda f: RegisterAgent(site, f.get("called", "")))
        if tried.done:
            agent, token = tried.result
            context = {"agent": agent, "token": token, "intake": request.build_absolute_uri("/").rstrip("/")}
            return page(request, "captures/token.html", context)
    found = Agent.objects.filter(site=site).select_related("by", "site").order_by("name")
    now = timezone.now()
    listed = sorted(((agent, seen(agent, now)) for agent in found), key=lambda row: row[0].revoked_at is not None)
    add = offered(request.user, "Register agent", reverse("agents"), RegisterAgent)
    return page(request, "captures/agents.html", {"agents": listed, "add": add}, tried)


@shown_to(EVERYONE)
def agent(request: HttpRequest, pk: int) -> HttpResponse:
    """One agent: is it heard, what did it bring, what happened to it."""
    return _agent_page(request, _agent(request, pk), None)


@require_POST
@shown_to(EVERYONE)
def agent_revoke(request: HttpRequest, pk: int) -> HttpResponse:
    """Revoke its token."""
    found = _agent(request, pk)
    tried = attempt(request, lambda f: RevokeAgent(found, f.get("reason", "")))
    return redirect(found) if tried.done else _agent_page(request, found, tried)


def _agent(request: HttpRequest, pk: int) -> Agent:
    return get_object_or_404(Agent.objects.select_related("by", "site"), pk=pk, site=request.user.site)


def _agent_page(request: HttpRequest, found: Agent, tried: Tried | None) -> HttpResponse:
    runs = captured_of(found.site).filter(agent=found).order_by("-started_at", "-pk")
    context = {
        "agent": found,
        "seen": seen(found, timezone.now()),
        "runs": runs[:MOST_RUNS],
        "count": runs.count(),
        "revoke": offered(request.user, "Revoke token", "", RevokeAgent),
        "trail": [line for line in trail_of(found.ref) if line.kind != "run_captured"],
    }
    return page(request, "captures/agent.html", context, tried)
