"""A spreadsheet of past checks or lots on its way through its page."""

from __future__ import annotations

from dataclasses import dataclass, field

from django.http import HttpRequest

from isohume.foundation.quantity.errors import InputError
from isohume.outlets.site.bench.choices import instrument_typed, product_typed
from isohume.outlets.site.config.keys import read_key
from isohume.outlets.site.config.page import by
from isohume.outlets.site.config.upload import LARGEST_BYTES, Carried, carried_by
from isohume.outlets.site.incoming.actions.bring_history import BringHistory
from isohume.outlets.site.incoming.actions.save_historic_mapping import SaveHistoricMapping
from isohume.outlets.site.incoming.columns import COLUMNS, headings_of
from isohume.outlets.site.incoming.models import HistoricMapping
from isohume.outlets.site.ledger.actions import perform
from isohume.outlets.site.people.models import Site


@dataclass
class Upload(Carried):
    """The file with its headings, and what it is said to hold."""

    kind: str = ""
    headings: list[str] = field(default_factory=list)


def upload_of(request: HttpRequest) -> Upload:
    """The file as chosen now, or as carried along.

    Raises: InputError at the field `file` or `kind`.
    """
    file, kind = carried_by(request, LARGEST_BYTES), request.POST.get("kind", "")
    if kind not in COLUMNS:
        raise InputError("kind", kind or "nothing", "past checks of instruments, or past lots of products")
    return Upload(file.name, file.content, kind, headings_of(file.name, file.content))


def mapping_of(request: HttpRequest, upload: Upload) -> HistoricMapping | None:
    """The mapping that was picked, or a new one made from the columns that were chosen."""
    site, typed = request.user.site, request.POST.dict()
    if typed.get("act") != "map":
        return _picked(site, typed.get("mapping", ""))
    columns = {name: typed[f"columns_{name}"] for name in COLUMNS[upload.kind] if typed.get(f"columns_{name}")}
    return perform(SaveHistoricMapping(site, upload.kind, typed.get("name_of_mapping", ""), columns), by(request))


def _picked(site: Site, typed: str) -> HistoricMapping | None:
    if not typed:
        return None
    found = HistoricMapping.objects.filter(site=site, pk=read_key(typed)).first()
    if found is None:
        raise InputError("mapping", typed, "a saved mapping")
    return found


def action_of(site: Site, typed: dict[str, str], upload: Upload, mapping: HistoricMapping | None) -> BringHistory:
    """The change that the form asks for."""
    return BringHistory(
        site,
        upload.kind,
        upload.name,
        upload.content,
        typed.get("origin", ""),
        mapping,
        instrument_typed(site, typed["instrument"]) if typed.get("instrument") else None,
        product_typed(site, typed["product"]) if typed.get("product") else None,
    )
