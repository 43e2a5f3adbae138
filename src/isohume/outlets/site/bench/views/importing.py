"""Importing runs from a file: choose it, see what would come of every row, then import all of it or nothing."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect

from isohume.foundation.quantity.errors import InputError, shown
from isohume.outlets.site.bench.actions.import_runs import ImportRuns, RowRead, preview
from isohume.outlets.site.bench.actions.save_mapping import SaveMapping
from isohume.outlets.site.bench.choices import instrument_typed, lot_typed, mapping_typed
from isohume.outlets.site.bench.columns import COLUMNS, REQUIRED, headings_of
from isohume.outlets.site.bench.models import ColumnMapping, ImportedFile
from isohume.outlets.site.bench.queries import runs_of
from isohume.outlets.site.config.page import Tried, attempt, by, page
from isohume.outlets.site.config.upload import LARGEST_BYTES, Carried, carried_by
from isohume.outlets.site.ledger.actions import Refused, perform
from isohume.outlets.site.ledger.trail import trail_of
from isohume.outlets.site.people.models import Site
from isohume.outlets.site.people.pages import shown_to
from isohume.outlets.site.people.roles import EVERYONE
from isohume.outlets.site.register.models import Instrument


@dataclass
class Upload(Carried):
    """A file on its way through the page: chosen once, carried along until it is imported."""

    headings: list[str] = field(default_factory=list)


@shown_to(EVERYONE)
def import_runs(request: HttpRequest) -> HttpResponse:
    """Choose a file; look at its rows; import it."""
    if request.method != "POST":
        return _import_page(request, None, Tried(), [])
    upload: Upload | None = None
    rows: list[RowRead] = []
    try:
        upload = _upload(request)
        mapping = _mapping(request, upload)
        tried, rows = _tried(request, upload, mapping)
    except InputError as error:
        said = f"read {shown(error.value)}; allowed: {error.allowed}"
        tried = Tried(errors={error.field: said}, typed=_typed(request))
    except Refused as refused:
        tried = Tried(reasons=list(refused.reasons), typed=_typed(request))
    if tried.done:
        return redirect(tried.result)
    return _import_page(request, upload, tried, rows)


def _tried(request: HttpRequest, upload: Upload, mapping: ColumnMapping | None) -> tuple[Tried, list[RowRead]]:
    """Look at the rows, or import them."""
    action = _action(request.user.site, request.POST.dict(), upload, mapping)
    if request.POST.get("act") == "import":
        return attempt(request, lambda _: action), []
    rows = preview(action, by(request))
    typed = {**_typed(request), "mapping": str(mapping.pk) if mapping else ""}
    return Tried(typed=typed), rows


def _action(site: Site, typed: dict[str, str], upload: Upload, mapping: ColumnMapping | None) -> ImportRuns:
    instrument = instrument_typed(site, typed["instrument"]) if typed.get("instrument") else None
    return ImportRuns(site, upload.name, upload.content, mapping, instrument, lot_typed(site, typed.get("lot", "")))


def _mapping(request: HttpRequest, upload: Upload) -> ColumnMapping | None:
    """The mapping that was picked, or a new one made from the columns that were chosen."""
    site, typed = request.user.site, request.POST.dict()
    if typed.get("act") != "map":
        return mapping_typed(site, typed.get("mapping", ""))
    columns = {name: typed[f"columns_{name}"] for name in COLUMNS if typed.get(f"columns_{name}")}
    return perform(SaveMapping(site, typed.get("name_of_mapping", ""), columns), by(request))


def _upload(request: HttpRequest) -> Upload:
    """The file as chosen now, or as carried along."""
    file = carried_by(request, LARGEST_BYTES)
    upload = Upload(file.name, file.content)
    upload.headings = headings_of(upload.name, upload.content)
    return upload


def _typed(request: HttpRequest) -> dict[str, str]:
    left_out = ("csrfmiddlewaretoken", "content")
    return {name: value for name, value in request.POST.items() if name not in left_out} | {"": ""}


def _import_page(request: HttpRequest, upload: Upload | None, tried: Tried, rows: list[RowRead]) -> HttpResponse:
    site = request.user.site
    refused = [row for row in rows if row.refused]
    context: dict[str, Any] = {
        "upload": upload,
        "rows": rows,
        "refused": refused,
        "columns": COLUMNS,
        "required": REQUIRED,
        "mappings": [(str(one.pk), one.name) for one in ColumnMapping.objects.filter(site=site).order_by("name")],
        "instruments": [(str(one.pk), one.name) for one in Instrument.objects.filter(site=site).order_by("name")],
        "before": list(ImportedFile.objects.filter(site=site).select_related("by").order_by("-pk")[:10]),
        "wants_mapping": upload is not None and bool(upload.headings) and "columns" in tried.errors,
    }
    failed = bool(tried.errors or tried.reasons or refused)
    return page(request, "bench/import_runs.html", context, tried, status=422 if failed else 200)


@shown_to(EVERYONE)
def importedfile(request: HttpRequest, pk: int) -> HttpResponse:
    """An imported file and the runs that came of it."""
    related = ImportedFile.objects.select_related("by", "mapping")
    found = get_object_or_404(related, pk=pk, site=request.user.site)
    runs = list(runs_of(request.user.site).filter(imported=found, corrects=None).order_by("imported_row"))
    context = {"file": found, "runs": runs, "trail": trail_of(found.ref)}
    return page(request, "bench/importedfile.html", context)
