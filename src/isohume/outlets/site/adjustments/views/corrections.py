"""Corrections of readings: begun with a signature, shown, ended; and their caps."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_POST

from isohume.bench.assurance import Correction as Line
from isohume.bench.assurance import ReadReference
from isohume.bench.assurance.how import how_corrected
from isohume.outlets.site.adjustments.actions import end_correction, start_correction
from isohume.outlets.site.adjustments.actions.end_correction import EndCorrection
from isohume.outlets.site.adjustments.actions.record_adjustment import last_check
from isohume.outlets.site.adjustments.actions.set_correction_caps import SetCorrectionCaps
from isohume.outlets.site.adjustments.actions.start_correction import StartCorrection
from isohume.outlets.site.adjustments.figures import reference_rows
from isohume.outlets.site.adjustments.models import Correction
from isohume.outlets.site.adjustments.proposal import propose
from isohume.outlets.site.adjustments.queries import caps_of, line_of
from isohume.outlets.site.bench.moments import shown_at
from isohume.outlets.site.checks.how_shown import how_shown
from isohume.outlets.site.checks.models import Check
from isohume.outlets.site.config.page import Tried, attempt, by, page
from isohume.outlets.site.ledger.actions import check as asked
from isohume.outlets.site.people.pages import shown_to
from isohume.outlets.site.people.proof import Proof, prove
from isohume.outlets.site.people.roles import EVERYONE
from isohume.outlets.site.register.models import Instrument, Method
from isohume.outlets.site.register.views.act import ActForm, Ask, act_page


@sensitive_post_parameters("password")
@shown_to(EVERYONE)
def correction_new(request: HttpRequest, pk: int) -> HttpResponse:
    """Sign that the readings of an instrument are corrected from now on."""
    instrument = get_object_or_404(Instrument.objects.select_related("site"), pk=pk, site=request.user.site)
    check = last_check(instrument, timezone.now())
    if request.method != "POST" or check is None:
        return _show_new(request, instrument, check, None)
    proof = prove(request, request.POST.get("password", ""))
    # the check that was looked at: another one read since is refused by name
    looked_at = instrument.checks.filter(pk=_key(request.POST.get("check", ""))).first() or check
    tried = attempt(request, lambda f: StartCorrection(looked_at, f.get("reason", ""), proof))
    return redirect(tried.result) if tried.done else _show_new(request, instrument, check, tried)


def _key(text: str) -> int:
    return int(text) if text.isascii() and text.isdigit() and len(text) < 16 else 0


def _show_new(request: HttpRequest, instrument: Instrument, check: Check | None, tried: Tried | None) -> HttpResponse:
    asker = by(request)
    found = propose(check, asker.at) if check is not None else "Check the instrument first."
    proposal = None if isinstance(found, str) else found
    fresh = Proof(request.user.pk, asker.at)  # what stands against it besides the password, which is asked for below
    context = {
        "instrument": instrument,
        "check": check,
        "proposal": proposal,
        "answer": found if isinstance(found, str) else _says(found.line, found.line.since, instrument),
        "verdict": asked(StartCorrection(check, "", fresh), asker) if check is not None else None,
        "statement": start_correction.STATEMENT,
        **({} if proposal is None else _shown(proposal.line, proposal.fitted.references)),
    }
    return page(request, "adjustments/correction_new.html", context, tried)


def _says(line: Line, since: datetime, instrument: Instrument) -> str:
    when = shown_at(since, instrument.site)
    return f"Version {line.version}: {line.offset:+.4f} and {line.slope:.4f} times what is read, from {when} on"


def _shown(line: Line, references: tuple[ReadReference, ...]) -> dict[str, Any]:
    return {"rows": reference_rows(line, references), "how": how_shown(how_corrected(line))}


@shown_to(EVERYONE)
def correction(request: HttpRequest, pk: int) -> HttpResponse:
    """One version: its line, its range, when it was in force, who signed it."""
    return _show(request, _correction(request, pk), None)


@sensitive_post_parameters("password")
@require_POST
@shown_to(EVERYONE)
def correction_end(request: HttpRequest, pk: int) -> HttpResponse:
    """Sign that it ends."""
    found = _correction(request, pk)
    proof = prove(request, request.POST.get("password", ""))
    tried = attempt(request, lambda f: EndCorrection(found, f.get("reason", ""), proof))
    return redirect(found) if tried.done else _show(request, found, tried)


def _correction(request: HttpRequest, pk: int) -> Correction:
    known = Correction.objects.select_related("instrument__site", "of_check", "by", "ended_by")
    return get_object_or_404(known, pk=pk, instrument__site=request.user.site)


def _show(request: HttpRequest, found: Correction, tried: Tried | None) -> HttpResponse:
    since = shown_at(found.since, found.instrument.site)
    until = shown_at(found.ended_at, found.instrument.site) if found.ended_at else ""
    context = {
        "correction": found,
        "instrument": found.instrument,
        "answer": f"Those of {since} to {until}" if until else f"Those from {since} on",
        "note": "A reading keeps the version of its own time, also where its lot is judged again later.",
        "statement": end_correction.STATEMENT,
        **_shown(line_of(found), tuple(ReadReference(**one) for one in found.references)),
    }
    return page(request, "adjustments/correction.html", context, tried)


@shown_to(EVERYONE)
def correction_caps(request: HttpRequest, pk: int) -> HttpResponse:
    """How far corrections under a method may go."""
    method = get_object_or_404(Method, pk=pk, site=request.user.site)
    return act_page(request, _caps_form(method))


def _caps_form(method: Method) -> ActForm:
    caps, back = caps_of(method), reverse("method", args=[method.pk])
    names = ("offset", "slope", "walk", "reason")
    return ActForm(
        f"How far may a correction go under {method.name}?",
        "Set the caps of corrections",
        "Set these caps",
        back,
        method.name,
        lambda f: SetCorrectionCaps(method, *(f.get(name, "") for name in names)),
        lambda made: back,
        (
            Ask("offset", "Offset, at most", start=f"{caps.offset:g}", unit="a_w", required=True, decimal=True),
            Ask("slope", "Slope, at most this far from 1", start=f"{caps.slope:g}", required=True, decimal=True),
            Ask(
                "walk", "All changes together, at most", start=f"{caps.walk:g}", unit="a_w", required=True, decimal=True
            ),
            Ask("reason", "Why", required=True),
        ),
        note="Corrections that were made keep the caps of their day.",
        advice=(
            "The figures that stand here first are choices of isohume without a source: put yours in their place.",
        ),
    )
