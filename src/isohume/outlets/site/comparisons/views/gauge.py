"""Gauge studies: what scatters, the parts or the reading?"""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect

from isohume.outlets.site.comparisons import gauge_table, hows, pictures
from isohume.outlets.site.comparisons.actions.add_gauge_study import AddGaugeStudy
from isohume.outlets.site.comparisons.queries import gauge_studies_of
from isohume.outlets.site.comparisons.tables import given_table
from isohume.outlets.site.config.page import Tried, attempt, page
from isohume.outlets.site.people.pages import shown_to
from isohume.outlets.site.people.roles import EVERYONE
from isohume.outlets.site.register.views.act import offered

MOST = 50


@shown_to(EVERYONE)
def gauge_studies(request: HttpRequest) -> HttpResponse:
    """All of them, the newest first."""
    add = offered(request.user, "Add gauge study", "", AddGaugeStudy)
    studies = gauge_studies_of(request.user.site).defer("readings")[:MOST]
    return page(request, "comparisons/gauge_studies.html", {"studies": studies, "add": add})


@shown_to(EVERYONE)
def gauge_new(request: HttpRequest) -> HttpResponse:
    """A table of readings."""
    site, tried = request.user.site, None
    if request.method == "POST":
        headings = gauge_table.HEADINGS
        tried = attempt(
            request, lambda f: AddGaugeStudy(site, f.get("title", ""), f.get("who", ""), given_table(request, headings))
        )
        if tried.done:
            return redirect(tried.result)
    offer = offered(request.user, "Add gauge study", "", AddGaugeStudy)
    return page(request, "comparisons/gauge_new.html", {"offer": offer, "who": gauge_table.WHO}, tried or Tried())


@shown_to(EVERYONE)
def gauge_study(request: HttpRequest, pk: int) -> HttpResponse:
    """One study: the answer, the components, the analysis of variance."""
    study = get_object_or_404(gauge_studies_of(request.user.site), pk=pk)
    found = gauge_table.found_of(study.readings)
    answer, shape = gauge_table.outcome_of(found)
    context = {
        "study": study,
        "found": found,
        "answer": answer,
        "shape": shape,
        "said": gauge_table.words_of(found),
        "sources": gauge_table.source_rows(found),
        "how": hows.of_gauge(found),
        "picture": pictures.gauge_picture(study.readings),
        "who": dict(gauge_table.WHO)[study.who],
    }
    return page(request, "comparisons/gauge_study.html", context)
