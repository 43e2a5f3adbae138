"""Record a check: the form, its rows, and what a reference should read at the temperature just typed."""

from __future__ import annotations

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils import timezone

from isohume.foundation.quantity.errors import InputError
from isohume.outlets.site.checks.actions.record_check import RecordCheck
from isohume.outlets.site.checks.bottles import bottle_named, pick_list
from isohume.outlets.site.checks.expected import expected_at
from isohume.outlets.site.checks.forms import instrument_named, local_minute, method_chosen, method_options
from isohume.outlets.site.checks.queries import protecting_check, start_sheet_of_day
from isohume.outlets.site.config.page import Tried, attempt, page
from isohume.outlets.site.people.models import Site
from isohume.outlets.site.people.pages import shown_to
from isohume.outlets.site.people.roles import EVERYONE
from isohume.outlets.site.register.models import Instrument, MethodVersion

FIELDS = {"bottle": "Bottle", "temperature_c": "Temperature", "a_w": "a_w", "read_at": "Read at"}
ROWS, SHOWN_ROWS = 8, 2  # the others open where they are wanted


@shown_to(EVERYONE)
def check_new(request: HttpRequest) -> HttpResponse:
    """The readings of at least two references, each with its own temperature."""
    site = request.user.site
    if request.method == "POST":
        tried = attempt(request, lambda f: _action(site, f))
        if tried.done:
            return redirect(tried.result)
        return _form(request, tried, tried.typed)
    return _form(request, Tried(), request.GET.dict())


@shown_to(EVERYONE)
def check_expected(request: HttpRequest) -> HttpResponse:
    """What the bottle of a row should read at the temperature typed; part of the form, never a page of its own."""
    if not request.htmx:
        return redirect("check_new")
    row = request.GET.get("row", "1")
    said = _expected(request.user.site, request.GET.dict(), row if row.isdecimal() else "1")
    return page(request, "checks/expected.html", {"expected": said})


def _action(site: Site, f: dict[str, str]) -> RecordCheck:
    instrument = instrument_named(f.get("instrument", ""), site)
    method = method_chosen(f.get("method_version", ""), site)
    rows = [_row(site, f, n) for n in range(1, ROWS + 1)]
    return RecordCheck(instrument, f.get("kind", ""), method, rows, f.get("note", ""))


def _row(site: Site, f: dict[str, str], n: int) -> dict[str, Any]:
    """A row as typed; the time alone, which the form fills in itself, makes no reading."""
    typed = {name: f.get(f"{name}_{n}", "").strip() for name in FIELDS}
    if not (typed["bottle"] or typed["temperature_c"] or typed["a_w"]):
        return {}
    return {**typed, "bottle": bottle_named(typed["bottle"], f"bottle_{n}", site)}


def _form(request: HttpRequest, tried: Tried, typed: dict[str, str]) -> HttpResponse:
    site, now = request.user.site, timezone.now()
    try:
        instrument = instrument_named(typed["instrument"], site) if typed.get("instrument") else None
    except InputError:
        instrument = None
    rows = [(n, _expected(site, typed, str(n))) for n in range(1, ROWS + 1)]
    context = {
        "instrument": instrument,
        "instruments": Instrument.objects.filter(site=site, in_use=True).order_by("name"),
        "method_options": method_options(site),
        "bottles": pick_list(site, now),
        "rows": rows[:SHOWN_ROWS],
        "more": rows[SHOWN_ROWS:],
        "more_open": any(typed.get(f"bottle_{n}") or typed.get(f"a_w_{n}") for n, _ in rows[SHOWN_ROWS:]),
        "labels": {f"{name}_{n}": f"{label} of reading {n}" for name, label in FIELDS.items() for n, _ in rows},
        "start_at": local_minute(now),
        "typed": typed,
        **_of_instrument(instrument, now),
    }
    return page(request, "checks/check_new.html", context, tried)


def _of_instrument(instrument: Instrument | None, now: Any) -> dict[str, Any]:
    """What the form starts with for an instrument: the day's method, opening or closing."""
    if instrument is None:
        return {"start_sheet": None, "kind": "opening", "method": None}
    last = instrument.start_sheets.select_related("method_version__method").order_by("-at", "-pk").first()
    method: MethodVersion | None = last.method_version if last else None
    sheet = start_sheet_of_day(instrument, method.method, now, now) if method else None
    kind = "closing" if protecting_check(instrument, now) is not None else "opening"
    return {"start_sheet": sheet, "kind": kind, "method": method}


def _expected(site: Site, typed: dict[str, str], row: str) -> str:
    return expected_at(typed.get(f"bottle_{row}", ""), typed.get(f"temperature_c_{row}", ""), site)
