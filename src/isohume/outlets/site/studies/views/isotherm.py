"""A product's isotherm: kept of a study with a signature, shown, asked."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.views.decorators.debug import sensitive_post_parameters

from isohume.outlets.site.config.page import Tried, attempt, by, page
from isohume.outlets.site.ledger.actions import check
from isohume.outlets.site.look.screen_line import screen_isotherm
from isohume.outlets.site.people.pages import shown_to
from isohume.outlets.site.people.proof import Proof, prove
from isohume.outlets.site.people.roles import EVERYONE
from isohume.outlets.site.studies import study_page as says
from isohume.outlets.site.studies.actions.keep_isotherm import STATEMENT, KeepIsotherm
from isohume.outlets.site.studies.answers import LEVELS
from isohume.outlets.site.studies.ask import FIELDS as ASK_FIELDS
from isohume.outlets.site.studies.ask import ask
from isohume.outlets.site.studies.columns import BASES
from isohume.outlets.site.studies.models import Study
from isohume.outlets.site.studies.pictures import picture_of
from isohume.outlets.site.studies.queries import in_force, isotherms_of, studies_of
from isohume.outlets.site.studies.words import cited, model_of


@sensitive_post_parameters("password")
@shown_to(EVERYONE)
def study_keep(request: HttpRequest, pk: int) -> HttpResponse:
    """Sign that one of the fitted sets is the product's isotherm from now on."""
    found = get_object_or_404(studies_of(request.user.site), pk=pk)
    if request.method != "POST":
        return _show_keep(request, found, None)
    proof = prove(request, request.POST.get("password", ""))
    tried = attempt(request, lambda f: _keeping(found, f, proof))
    return redirect(tried.result) if tried.done else _show_keep(request, found, tried)


def _keeping(found: Study, typed: dict[str, str], proof: Proof | None) -> KeepIsotherm:
    direction, _, temperature = typed.get("set", "").partition(" ")
    return KeepIsotherm(found, direction, temperature, typed.get("result", ""), typed.get("reason", ""), proof)


def _show_keep(request: HttpRequest, found: Study, tried: Tried | None) -> HttpResponse:
    may = [one for one in found.sets if one["recommended"]]
    wanted = request.GET.get("set", "")
    asker = by(request)
    first = may[0] if may else {"direction": "", "temperature_c": ""}
    fresh = Proof(request.user.pk, asker.at)  # what stands against it besides the password, which is asked for below
    tested = KeepIsotherm(found, first["direction"], first["temperature_c"], found.result_sha256, "", fresh)
    context = {
        "study": found,
        "sets": [(f"{one['direction']} {one['temperature_c']}", says.set_line(one)) for one in may],
        "wanted": wanted,
        "statement": STATEMENT,
        "verdict": check(tested, asker),
        "in_force": in_force(found.product),
    }
    return page(request, "studies/study_keep.html", context, tried)


@shown_to(EVERYONE)
def isotherm(request: HttpRequest, pk: int) -> HttpResponse:
    """One version: what it says, where it holds, who signed it."""
    found = get_object_or_404(isotherms_of(request.user.site), pk=pk)
    typed, content = request.GET.dict(), found.content
    spoken = ask(content, found.formula_version, typed)
    title = f"Isotherm {found.version} of {found.product.name}"
    model = model_of(content, found.model)
    context = {
        "isotherm": found,
        "in_force": found in in_force(found.product),
        "picture": screen_isotherm(picture_of(title, [content])),
        "model": model,
        "cited": cited(model) if model else "",
        "range": says.range_words(content),
        "parameters": says.parameters_of(content),
        "monolayers": says.monolayers(content),
        "one": content,
        "asked_facts": spoken.facts,
        "ask_reasons": spoken.reasons,
        "bases": BASES,
        "levels": list(LEVELS.items()),
        "ask_fields": ASK_FIELDS,
        "statement": STATEMENT,
    }
    return page(
        request, "studies/isotherm.html", context, None, asked=Tried(errors=spoken.errors, typed=typed), status=200
    )
