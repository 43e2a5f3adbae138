"""The trail of any object, one click from its page."""

from __future__ import annotations

from django.apps import apps
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import NoReverseMatch

from isohume.outlets.site.config.page import page
from isohume.outlets.site.ledger.trail import trail_of
from isohume.outlets.site.people.pages import shown_to
from isohume.outlets.site.people.roles import EVERYONE

SITE_OF = {
    "person": "site",
    "instrument": "site",
    "method": "site",
    "methodversion": "method__site",
    "budget": "method_version__method__site",
    "solutionlot": "site",
    "balancerecord": "solution_lot__site",
    "bottle": "solution_lot__site",
    "product": "site",
    "specificationversion": "product__site",
    "startsheet": "instrument__site",
    "cleaning": "instrument__site",
    "check": "instrument__site",
    "lot": "site",
    "sample": "lot__site",
    "portion": "sample__lot__site",
    "run": "instrument__site",
    "secondkeying": "run__instrument__site",
    "importedfile": "site",
    "columnmapping": "site",
    "inprocessreading": "product__site",
    "handover": "site",
    "deviation": "site",
    "moisturedetermination": "lot__site",
    "phdetermination": "lot__site",
    "study": "site",
    "isotherm": "product__site",
    "chart": "site",
    "chartrule": "site",
    "chartevent": "instrument__site",
    "suppliermaterial": "site",
    "supplierlot": "site",
    "supplierdetermination": "lot__site",
    "historicfile": "site",
    "historicmapping": "site",
    "keptheat": "product__site",
    "freshportion": "failed_check__instrument__site",
    "instrumentadjustment": "instrument__site",
    "correctioncaps": "method__site",
    "correction": "instrument__site",
    "positionmap": "product__site",
    "samplingplan": "product__site",
    "budgetrefresh": "method_version__method__site",
    "instrumentcomparison": "site",
    "proficiencyround": "site",
    "gaugestudy": "site",
    "sitecomparison": "site",
    "blindreference": "site",
    "agent": "site",
    "capturedrun": "site",
    "expected": "instrument__site",
}


@shown_to(EVERYONE)
def trail(request: HttpRequest, kind: str, pk: int) -> HttpResponse:
    """Every ledger line that speaks of an object of your plant."""
    model = next((m for m in apps.get_models() if m._meta.model_name == kind and kind in SITE_OF), None)
    if model is None:
        raise Http404
    found = get_object_or_404(model, pk=pk, **{SITE_OF[kind]: request.user.site})
    context = {"object": found, "ref": found.ref, "back": _page_of(found), "lines": trail_of(found.ref)}
    return page(request, "ledger/trail.html", context)


def page_of_ref(ref: str) -> str:
    """The page of what a ledger name names; the first page where it has none."""
    kind, _, pk = ref.partition(":")
    model = next((m for m in apps.get_models() if m._meta.model_name == kind), None)
    found = model.objects.filter(pk=pk).first() if model is not None and pk.isdecimal() else None
    return "/" if found is None else _page_of(found)


def _page_of(found: object) -> str:
    try:
        return str(found.get_absolute_url())  # type: ignore[attr-defined]
    except (NoReverseMatch, AttributeError):
        return "/"
