"""Studies: the list, one study with its answer, its paper, its file, and the fit asked for again."""

from __future__ import annotations

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils.http import urlencode
from django.views.decorators.http import require_POST

from isohume.outlets.paper.isotherm_sheet import isotherm_pdf
from isohume.outlets.site.config.keys import read_key
from isohume.outlets.site.config.page import Tried, attempt, page
from isohume.outlets.site.look.screen_line import screen_isotherm
from isohume.outlets.site.lots.frozen import questions
from isohume.outlets.site.people.pages import shown_to
from isohume.outlets.site.people.roles import EVERYONE
from isohume.outlets.site.register.views.act import offered
from isohume.outlets.site.studies import hows
from isohume.outlets.site.studies import study_page as says
from isohume.outlets.site.studies.actions.add_study import AddStudy
from isohume.outlets.site.studies.actions.fit_again import FitAgain
from isohume.outlets.site.studies.answers import LEVELS
from isohume.outlets.site.studies.ask import FIELDS as ASK_FIELDS
from isohume.outlets.site.studies.ask import ask
from isohume.outlets.site.studies.columns import BASES
from isohume.outlets.site.studies.models import Study
from isohume.outlets.site.studies.pictures import at_one_temperature, picture_of
from isohume.outlets.site.studies.queries import studies_of
from isohume.outlets.site.studies.sheet import sheet_of

MOST = 50


@shown_to(EVERYONE)
def studies(request: HttpRequest) -> HttpResponse:
    """The newest fifty, found by product or file."""
    text = request.GET.get("text", "")[:100]
    before = read_key(request.GET.get("before", ""))
    found = studies_of(request.user.site).defer("points", "result")  # long, and not told in a list
    if text:
        found = found.filter(product__name__icontains=text.replace("\0", ""))
    if before:
        found = found.filter(pk__lt=before)
    listed = list(found[: MOST + 1])
    following = listed[MOST - 1].pk if len(listed) > MOST else None
    add = offered(request.user, "Add study", "", AddStudy)
    return page(
        request, "studies/studies.html", {"rows": listed[:MOST], "following": following, "text": text, "add": add}
    )


@shown_to(EVERYONE)
def study(request: HttpRequest, pk: int) -> HttpResponse:
    """The answer first."""
    return _show(request, _study(request, pk), None)


@require_POST
@shown_to(EVERYONE)
def study_fit(request: HttpRequest, pk: int) -> HttpResponse:
    """Fit it again."""
    found = _study(request, pk)
    tried = attempt(request, lambda _: FitAgain(found))
    return redirect(found) if tried.done else _show(request, found, tried)


@shown_to(EVERYONE)
def study_sheet(request: HttpRequest, pk: int) -> HttpResponse:
    """The paper of what the page says, for the same question."""
    found = _study(request, pk)
    if not found.sets:
        return redirect(found)
    content = sheet_of(found, says.answer_of(found, request.GET.dict()))
    return _kept(isotherm_pdf(content), f"study-{found.pk}.pdf", "application/pdf")


@shown_to(EVERYONE)
def study_file(request: HttpRequest, pk: int) -> HttpResponse:
    """The raw file as it was uploaded, from the evidence."""
    found = _study(request, pk)
    xlsx = found.file_name.lower().endswith(".xlsx")
    kind = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet" if xlsx else "text/csv; charset=utf-8"
    name = f"study-{found.pk}-points.{'xlsx' if xlsx else 'csv'}"
    return _kept(questions().file(found.file_sha256) or b"", name, kind)


def _study(request: HttpRequest, pk: int) -> Study:
    return get_object_or_404(studies_of(request.user.site), pk=pk)


def _show(request: HttpRequest, found: Study, tried: Tried | None) -> HttpResponse:
    context: dict[str, Any] = {
        "study": found,
        "waits": found.job is not None and found.job.state in ("queued", "running"),
        "failed": found.job is not None and found.job.state == "failed",
        "kept": says.kept_words(found),
        "fit_again": offered(request.user, "Fit again", "", FitAgain),
    }
    asked = Tried()
    if found.sets:
        context |= _answered(found, request.GET.dict())
        asked = Tried(errors=context["errors"], typed=request.GET.dict())
    if tried is not None:
        return page(request, "studies/study.html", context, tried, asked=asked)
    return page(request, "studies/study.html", context, None, asked=asked, status=200)


def _answered(found: Study, typed: dict[str, str]) -> dict[str, Any]:
    """What the page of a fitted study says to what is typed."""
    answer = says.answer_of(found, typed)
    replicates, one = found.result["replicates"], answer.one
    spoken = ask(one, found.formula_version, typed) if one and one["curve"] else None
    title = f"Isotherm of {found.product.name}, formula {found.formula_version}"
    level = answer.asked["level"] if answer.asked["level"] in LEVELS else "95"
    sets = at_one_temperature(found.sets, one["temperature_c"]) if one else found.sets
    return {
        "answer": answer,
        "one": one,
        "picture": screen_isotherm(picture_of(title, sets, level, answer.limit)),
        "facts": says.facts_of(answer, replicates),
        "monolayers": says.monolayers(one) if one else [],
        "comparison": says.comparison_of(one) if one else [],
        "compare_how": hows.of_comparison(),
        "asked_facts": spoken.facts if spoken else [],
        "ask_reasons": spoken.reasons if spoken else [],
        "errors": {**answer.errors, **(spoken.errors if spoken else {})},
        "query": urlencode(answer.asked),
        "directions": says.directions_of(found),
        "levels": list(LEVELS.items()),
        "bases": BASES,
        "fields": says.FIELDS,
        "ask_fields": ASK_FIELDS,
    }


def _kept(body: bytes, name: str, kind: str) -> HttpResponse:
    """A file to keep; its name comes from the study's number."""
    response = HttpResponse(body, content_type=kind)
    response.headers["Content-Disposition"] = f'attachment; filename="{name}"'
    return response
