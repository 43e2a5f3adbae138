"""A job: how far it is, and what came of it."""

from __future__ import annotations

from pathlib import Path

from django.conf import settings
from django.http import FileResponse, Http404, HttpRequest, HttpResponseBase
from django.shortcuts import get_object_or_404, redirect

from isohume.outlets.site.config.page import page
from isohume.outlets.site.people.pages import shown_to
from isohume.outlets.site.people.roles import EVERYONE
from isohume.outlets.site.work.models import Job

KINDS = {
    "certificate": "Certificate",
    "labels": "Scan labels",
    "verify": "Verification",
    "isotherm": "Isotherm fit",
    "look-back": "Hold list",
}


@shown_to(EVERYONE)
def job(request: HttpRequest, pk: int) -> HttpResponseBase:
    """How far it is; the page may be left, the work goes on."""
    found = get_object_or_404(Job, pk=pk, site=request.user.site)
    context = {"job": found, "what": KINDS.get(found.kind, found.kind.capitalize())}
    return page(request, "work/job.html", context)


@shown_to(EVERYONE)
def job_result(request: HttpRequest, pk: int) -> HttpResponseBase:
    """The file a job made; its place comes from the job, never from the address."""
    found = get_object_or_404(Job, pk=pk, site=request.user.site, state="done")
    if found.kind == "certificate":  # its own door asks whether the lot may still have one
        return redirect("certificate_pdf", found.argument["record"])
    if found.kind == "isotherm":  # its result is read on the study's page
        return redirect("study", found.argument["study"])
    place = (Path(settings.DATA) / found.result).resolve()
    if not place.is_relative_to(Path(settings.DATA).resolve()) or not place.is_file():
        raise Http404
    return FileResponse(place.open("rb"), filename=place.name, content_type="application/pdf")
