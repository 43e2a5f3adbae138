"""A new study: choose a file, say what its columns are, see the rows as they would be taken, have them fitted."""

from __future__ import annotations

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect

from isohume.foundation.quantity.errors import InputError, shown
from isohume.outlets.site.config.keys import read_key
from isohume.outlets.site.config.page import Tried, attempt, page
from isohume.outlets.site.people.pages import shown_to
from isohume.outlets.site.people.roles import EVERYONE
from isohume.outlets.site.register.models import Product
from isohume.outlets.site.studies.columns import BASES, MOST_ROWS, NAMES
from isohume.outlets.site.studies.points import PointRead, PointsRefused
from isohume.outlets.site.studies.upload import FIELDS, Upload, action_of, upload_of

LEFT_OUT = ("csrfmiddlewaretoken", "content")
MAPPED = ("basis", *FIELDS)


@shown_to(EVERYONE)
def study_new(request: HttpRequest) -> HttpResponse:
    """Choose a file; say what it holds; ask for the fit."""
    if request.method != "POST":
        return _show(request, None, Tried())
    upload: Upload | None = None
    try:
        upload = upload_of(request)
        if request.POST.get("act") == "add":
            tried = attempt(request, lambda f: action_of(request.user.site, f, upload))
        else:
            tried = Tried(typed=_typed(request, upload))
    except InputError as error:
        tried = Tried(errors=_said(error), typed=_typed(request, upload))
    if tried.done:
        return redirect(tried.result)
    return _show(request, upload, tried)


def _typed(request: HttpRequest, upload: Upload | None) -> dict[str, str]:
    """What was typed; a file chosen just now starts with the guess of its columns."""
    typed = {name: value for name, value in request.POST.items() if name not in LEFT_OUT} | {"": ""}
    if upload is not None and request.FILES.get("file") is not None:
        typed |= {name: start for name, start in upload.starts.items() if not typed.get(name)}
    return typed


def _said(error: InputError) -> dict[str, str]:
    return {error.field: f"read {shown(error.value)}; allowed: {error.allowed}"}


def _looked_at(request: HttpRequest, upload: Upload, tried: Tried) -> tuple[list[PointRead], list[str], dict[str, str]]:
    """The rows as they would be taken, where the columns are said; what is wrong with them stands at its field."""
    if not all(tried.typed.get(name) for name in ("columns_a_w", "columns_moisture", "basis")):
        return [], [], {}
    try:
        typed = {**tried.typed, "product": tried.typed.get("product", "")}
        action = action_of(request.user.site, typed, upload)
        read, cautions, _ = action.looked_at()
    except PointsRefused as refused:
        return list(refused.rows), [], _said(refused)
    except InputError as error:
        return [], [], _said(error) if error.field not in ("product", "file") else {}
    return read, cautions, {}


def _show(request: HttpRequest, upload: Upload | None, tried: Tried) -> HttpResponse:
    site = request.user.site
    rows, cautions, errors = _looked_at(request, upload, tried) if upload else ([], [], {})
    tried.errors = {**errors, **tried.errors}
    known = read_key(request.GET.get("product", ""))
    context: dict[str, Any] = {
        "upload": upload,
        "rows": rows,
        "refused": [row for row in rows if row.refused],
        "cautions": cautions,
        "names": NAMES,
        "bases": BASES,
        "most_rows": MOST_ROWS,
        "products": [(str(one.pk), one.name) for one in Product.objects.filter(site=site).order_by("name")],
        "known": str(known) if known else "",
    }
    failed = bool(tried.errors or tried.reasons)
    return page(request, "studies/study_new.html", context, tried, status=422 if failed else 200)
