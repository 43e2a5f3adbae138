"""Sister sites on one control product."""

from __future__ import annotations

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect

from isohume.foundation.metrology import repeatability_limit
from isohume.outlets.site.comparisons import hows, pictures
from isohume.outlets.site.comparisons.actions.compare_sites import CompareSites
from isohume.outlets.site.comparisons.queries import site_comparisons_of
from isohume.outlets.site.comparisons.sites_compared import HEADINGS, compared
from isohume.outlets.site.comparisons.tables import given_table
from isohume.outlets.site.config.page import Tried, attempt, page
from isohume.outlets.site.people.models import Site
from isohume.outlets.site.people.pages import shown_to
from isohume.outlets.site.people.roles import EVERYONE
from isohume.outlets.site.register.models import Method
from isohume.outlets.site.register.views.act import offered

MOST = 50


@shown_to(EVERYONE)
def site_comparisons(request: HttpRequest) -> HttpResponse:
    """All of them, the newest first."""
    add = offered(request.user, "Compare sites", "", CompareSites)
    found = site_comparisons_of(request.user.site)[:MOST]
    return page(request, "comparisons/site_comparisons.html", {"found": found, "add": add})


@shown_to(EVERYONE)
def site_comparison_new(request: HttpRequest) -> HttpResponse:
    """A row a site."""
    site, tried = request.user.site, None
    if request.method == "POST":
        tried = attempt(request, lambda f: _comparing(site, f, given_table(request, HEADINGS)))
        if tried.done:
            return redirect(tried.result)
    offer = offered(request.user, "Compare sites", "", CompareSites)
    context = {"offer": offer, "start": _limits(site)}
    return page(request, "comparisons/site_comparison_new.html", context, tried or Tried())


def _comparing(site: Site, f: dict[str, str], table: Any) -> CompareSites:
    return CompareSites(site, f.get("material", ""), f.get("repeatability", ""), f.get("reproducibility", ""), table)


def _limits(site: Site) -> dict[str, str]:
    """r and R of a method whose budget states both, else nothing to start with."""
    for method in Method.objects.filter(site=site).order_by("pk"):
        budget = method.current.budget if method.current else None
        if budget and budget.s_r and budget.s_reproducibility:
            r, big_r = (repeatability_limit(float(s)) for s in (budget.s_r, budget.s_reproducibility))
            return {"repeatability": f"{r:.4f}", "reproducibility": f"{big_r:.4f}"}
    return {"repeatability": "", "reproducibility": ""}


@shown_to(EVERYONE)
def site_comparison(request: HttpRequest, pk: int) -> HttpResponse:
    """One comparison: who agrees with us, and by how much."""
    kept = get_object_or_404(site_comparisons_of(request.user.site), pk=pk)
    found = compared(kept.rows, float(kept.repeatability), float(kept.reproducibility))
    context = {
        "kept": kept,
        "found": found,
        "how": hows.of_sites(found, kept.repeatability, kept.reproducibility),
        "picture": pictures.sites_picture(kept.rows),
        "rows": [(row["site"], row["mean"], row["s"], row["n"]) for row in kept.rows],
    }
    return page(request, "comparisons/site_comparison.html", context)
