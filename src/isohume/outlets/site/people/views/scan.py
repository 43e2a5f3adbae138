"""A scanned code leads to its object's page."""

from __future__ import annotations

import re

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect

from isohume.outlets.site.bench.models import Portion, Sample
from isohume.outlets.site.people.pages import shown_to
from isohume.outlets.site.people.roles import EVERYONE
from isohume.outlets.site.register.models import Bottle, Instrument

OF_SITE = {
    "p": (Portion, "sample__lot__site"),
    "s": (Sample, "lot__site"),
    "b": (Bottle, "solution_lot__site"),
    "i": (Instrument, "site"),
}
_CODE = re.compile(r"iso:([psbi]):(\d{1,15})", re.ASCII)


@shown_to(EVERYONE)
def scan(request: HttpRequest) -> HttpResponse:
    """iso:p:12 is portion 12; another plant's code is "not found"."""
    read = _CODE.fullmatch(request.GET.get("code", "").strip())
    if read is None:
        raise Http404
    model, site = OF_SITE[read[1]]
    return redirect(get_object_or_404(model, pk=int(read[2]), **{site: request.user.site}).get_absolute_url())
