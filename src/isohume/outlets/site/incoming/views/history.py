"""History from spreadsheets: what was brought, one file, and bringing another one; all of it unverified."""

from __future__ import annotations

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.urls import reverse

from isohume.foundation.quantity.errors import InputError, shown
from isohume.outlets.site.config.page import Tried, attempt, by, page
from isohume.outlets.site.incoming.actions.bring_history import BringHistory
from isohume.outlets.site.incoming.columns import COLUMNS, MOST_ROWS, REQUIRED
from isohume.outlets.site.incoming.historic_rows import RowRead
from isohume.outlets.site.incoming.models import HistoricMapping
from isohume.outlets.site.incoming.models.history import KINDS, UNVERIFIED
from isohume.outlets.site.incoming.queries import files_of, historic_drifts, historic_histories, historic_repeatability
from isohume.outlets.site.incoming.upload import Upload, action_of, mapping_of, upload_of
from isohume.outlets.site.ledger.actions import Refused, check
from isohume.outlets.site.lots.frozen import questions
from isohume.outlets.site.people.pages import shown_to
from isohume.outlets.site.people.roles import EVERYONE
from isohume.outlets.site.register.models import Instrument, Product
from isohume.outlets.site.register.views.act import offered

LEFT_OUT = ("csrfmiddlewaretoken", "content")
SHOWN_ROWS = 100


@shown_to(EVERYONE)
def history(request: HttpRequest) -> HttpResponse:
    """What was brought, and what it says of repeatability and of usual values."""
    site = request.user.site
    context = {
        "files": list(files_of(site)),
        "kinds": dict(KINDS),
        "repeatability": historic_repeatability(site),
        "usual": historic_histories(site),
        "drifts": historic_drifts(site),
        "unverified": UNVERIFIED,
        "offers": [offered(request.user, "Bring a spreadsheet", reverse("history_new"), BringHistory)],
    }
    return page(request, "incoming/history.html", context)


@shown_to(EVERYONE)
def historicfile(request: HttpRequest, pk: int) -> HttpResponse:
    """One spreadsheet and its rows."""
    found = get_object_or_404(files_of(request.user.site), pk=pk)
    rows = found.checks.select_related("instrument") if found.kind == "checks" else found.lots.select_related("product")
    context = {"file": found, "rows": list(rows.order_by("row")[:SHOWN_ROWS]), "shown": SHOWN_ROWS}
    return page(request, "incoming/historicfile.html", {**context, "unverified": UNVERIFIED})


@shown_to(EVERYONE)
def historicfile_raw(request: HttpRequest, pk: int) -> HttpResponse:
    """The raw file as it was uploaded, from the evidence."""
    found = get_object_or_404(files_of(request.user.site), pk=pk)
    xlsx = found.name.lower().endswith(".xlsx")
    kind = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet" if xlsx else "text/csv; charset=utf-8"
    response = HttpResponse(questions().file(found.sha256) or b"", content_type=kind)
    name = f"history-{found.pk}.{'xlsx' if xlsx else 'csv'}"
    response.headers["Content-Disposition"] = f'attachment; filename="{name}"'
    return response


@shown_to(EVERYONE)
def history_new(request: HttpRequest) -> HttpResponse:
    """Choose a spreadsheet; say what it holds; look at its rows; bring all of them or none."""
    if request.method != "POST":
        return _show(request, None, Tried(), [])
    upload: Upload | None = None
    rows: list[RowRead] = []
    try:
        upload = upload_of(request)
        tried, rows = _tried(request, upload)
    except InputError as error:
        said = f"read {shown(error.value)}; allowed: {error.allowed}"
        tried = Tried(errors={error.field: said}, typed=_typed(request))
    except Refused as refused:
        tried = Tried(reasons=list(refused.reasons), typed=_typed(request))
    return redirect(tried.result) if tried.done else _show(request, upload, tried, rows)


def _tried(request: HttpRequest, upload: Upload) -> tuple[Tried, list[RowRead]]:
    """Look at the rows, or bring them."""
    mapping = mapping_of(request, upload)
    action = action_of(request.user.site, request.POST.dict(), upload, mapping)
    typed = {**_typed(request), "mapping": str(mapping.pk) if mapping else ""}
    if request.POST.get("act") == "bring":
        tried = attempt(request, lambda _: action)
        rows = [] if tried.done or tried.errors else action.looked_at(by(request))
        if any(row.refused for row in rows):
            tried.reasons = []  # they stand at their rows
        return tried, rows
    verdict = check(action, by(request))
    if not verdict.allowed:
        raise Refused(*verdict.reasons)
    return Tried(typed=typed), action.looked_at(by(request))


def _typed(request: HttpRequest) -> dict[str, str]:
    return {name: value for name, value in request.POST.items() if name not in LEFT_OUT} | {"": ""}


def _show(request: HttpRequest, upload: Upload | None, tried: Tried, rows: list[RowRead]) -> HttpResponse:
    site, kind = request.user.site, upload.kind if upload else request.GET.get("kind", "")
    refused = [row for row in rows if row.refused]
    mappings = HistoricMapping.objects.filter(site=site).order_by("name")
    context: dict[str, Any] = {
        "upload": upload,
        "kind": kind if kind in COLUMNS else "",
        "kinds": KINDS,
        "rows": rows[:SHOWN_ROWS] if not refused else refused[:SHOWN_ROWS],
        "count": len(rows),
        "refused": len(refused),
        "columns": COLUMNS,
        "required": REQUIRED,
        "most_rows": MOST_ROWS,
        "mappings": [(str(one.pk), f"{one.name} ({one.kind})") for one in mappings],
        "instruments": [(str(one.pk), one.name) for one in Instrument.objects.filter(site=site).order_by("name")],
        "products": [(str(one.pk), one.name) for one in Product.objects.filter(site=site).order_by("name")],
        "wants_mapping": upload is not None and bool(upload.kind) and "columns" in _fields(tried),
        "unverified": UNVERIFIED,
    }
    failed = bool(tried.errors or tried.reasons or refused)
    return page(request, "incoming/history_new.html", context, tried, status=422 if failed else 200)


def _fields(tried: Tried) -> set[str]:
    """The fields that are wrong; a column's own field is one of the mapping's."""
    return {"columns" if name.startswith(("columns", "name_of_mapping")) else name for name in tried.errors}
