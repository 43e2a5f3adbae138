"""The budgets of a plant, the proposal for one of them, and what was done about it."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils import timezone

from isohume.outlets.site.bench.moments import plant_day
from isohume.outlets.site.budgets import shown
from isohume.outlets.site.budgets.actions.adopt_budget import AdoptBudget
from isohume.outlets.site.budgets.actions.keep_budget import KeepBudget
from isohume.outlets.site.budgets.effects import effects_of
from isohume.outlets.site.budgets.proposal import propose
from isohume.outlets.site.budgets.queries import budgets_now, refreshes_of
from isohume.outlets.site.config.page import Tried, attempt, by, page
from isohume.outlets.site.ledger.actions import check
from isohume.outlets.site.people.pages import shown_to
from isohume.outlets.site.people.roles import EVERYONE
from isohume.outlets.site.register.models import MethodVersion

LAST = 20


@shown_to(EVERYONE)
def budgets(request: HttpRequest) -> HttpResponse:
    """Every method with its budget in force and when it is looked at again."""
    site = request.user.site
    now, day = budgets_now(site), plant_day(timezone.now(), site)
    late = [one for one in now if one.due_on <= day]
    context = {"budgets": now, "late": late, "day": day, "refreshes": refreshes_of(site)[:LAST]}
    return page(request, "budgets/budgets.html", context)


@shown_to(EVERYONE)
def budget_refresh(request: HttpRequest, pk: int) -> HttpResponse:
    """What the plant's own data propose for a method version; what it would change comes first."""
    version = get_object_or_404(
        MethodVersion.objects.select_related("method__site"), pk=pk, method__site=request.user.site
    )
    if request.method != "POST":
        return _show(request, version, None)
    keeps = request.POST.get("act") == "keep"
    tried = attempt(
        request,
        lambda f: (
            KeepBudget(version, f.get("reason", ""))
            if keeps
            else AdoptBudget(version, f.get("proposal", ""), f.get("reason", ""))
        ),
    )
    return redirect(tried.result) if tried.done else _show(request, version, tried)


def _show(request: HttpRequest, version: MethodVersion, tried: Tried | None) -> HttpResponse:
    asker = by(request)
    proposal = propose(version, asker.at)
    says, shape = shown.answer(proposal)
    context = {
        "version": version,
        "proposal": proposal,
        "says": says,
        "shape": shape,
        "present": shown.present_words(version),
        "effects": effects_of(proposal) if proposal.deciding else [],
        "components": shown.component_rows(proposal),
        "cases": shown.case_rows(proposal),
        "keeping": check(KeepBudget(version), asker),
        "refreshes": version.refreshes.select_related("by", "budget").order_by("-pk")[:LAST],
    }
    return page(request, "budgets/budget_refresh.html", context, tried)


@shown_to(EVERYONE)
def budgetrefresh(request: HttpRequest, pk: int) -> HttpResponse:
    """What was proposed then, and what was done."""
    found = get_object_or_404(refreshes_of(request.user.site), pk=pk)
    return page(request, "budgets/budgetrefresh.html", {"refresh": found, "kept": found.content})
