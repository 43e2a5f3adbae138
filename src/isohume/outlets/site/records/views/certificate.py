"""The certificate of a record: asked for, made by the worker, served through here."""

from __future__ import annotations

from django.http import FileResponse, HttpRequest, HttpResponseBase
from django.shortcuts import redirect

from isohume.outlets.site.config.page import attempt, page
from isohume.outlets.site.lots.frozen import questions
from isohume.outlets.site.people.pages import shown_to
from isohume.outlets.site.people.roles import EVERYONE
from isohume.outlets.site.records.actions.ask_certificate import (
    PAPER_SIZES,
    AskCertificate,
    reasons_against_certificate,
)
from isohume.outlets.site.records.certificates import certificate_file, job_in_hand
from isohume.outlets.site.records.views.records import find_record


@shown_to(EVERYONE)
def certificate(request: HttpRequest, record: str) -> HttpResponseBase:
    """What it will say, and where it is; asking makes a job that may be left."""
    found, tried = find_record(request, record), None
    if request.method == "POST":
        tried = attempt(request, lambda f: AskCertificate(found, f.get("paper", "a4")))
        if tried.done:
            return redirect("job", tried.result.pk)
    context = {
        "record": found,
        "signed": questions().signatures_of(found.record),
        "reasons": reasons_against_certificate(found),
        "ready": certificate_file(found) is not None,
        "job": job_in_hand(found),
        "papers": PAPER_SIZES,
    }
    return page(request, "records/certificate.html", context, tried)


@shown_to(EVERYONE)
def certificate_pdf(request: HttpRequest, record: str) -> HttpResponseBase:
    """The PDF, where it says all signatures and may leave; else the page that says why not."""
    found = find_record(request, record)
    place = certificate_file(found)
    if place is None:
        return redirect("certificate", found.record)
    return FileResponse(place.open("rb"), filename=f"{found.record}.pdf", content_type="application/pdf")
