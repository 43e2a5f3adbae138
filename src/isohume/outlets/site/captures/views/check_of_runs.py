"""A check from captured runs of reference solutions on one instrument."""

from __future__ import annotations

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils import timezone

from isohume.foundation.quantity.errors import InputError
from isohume.outlets.site.captures.actions.record_captured_check import RecordCapturedCheck
from isohume.outlets.site.captures.judged import judged_of, method_of_day
from isohume.outlets.site.captures.models import CapturedRun
from isohume.outlets.site.captures.queries import without_fate
from isohume.outlets.site.captures.value import value_of
from isohume.outlets.site.checks.forms import instrument_named, method_chosen, method_options
from isohume.outlets.site.checks.queries import protecting_check
from isohume.outlets.site.config.keys import read_key
from isohume.outlets.site.config.page import attempt, by, page
from isohume.outlets.site.people.models import Site
from isohume.outlets.site.people.pages import shown_to
from isohume.outlets.site.people.roles import EVERYONE
from isohume.outlets.site.register.models import Instrument, MethodVersion


@shown_to(EVERYONE)
def captured_check(request: HttpRequest) -> HttpResponse:
    """Tick the runs of bottles; their numbers are the traces' own."""
    site, tried = request.user.site, None
    if request.method == "POST":
        tried = attempt(request, lambda f: _action(request, site, f))
        if tried.done:
            return redirect(tried.result)
    given = request.POST if request.method == "POST" else request.GET
    instrument = _instrument(site, given.get("instrument", ""))
    method = _method(site, given.get("method_version", ""), instrument)
    runs = list(without_fate(site).filter(bottle__isnull=False, ended_at__isnull=False))
    mine = [run for run in runs if instrument is not None and run.instrument_id == instrument.pk]
    protected = instrument is not None and protecting_check(instrument, by(request).at) is not None
    context = {
        "instrument": instrument,
        "instruments": sorted({run.instrument for run in runs}, key=str),
        "rows": [_row(run, method) for run in mine],
        "method": method,
        "method_options": method_options(site),
        "kind": given.get("kind", "closing" if protected else "opening"),
        "ticked": request.POST.getlist("runs") if request.method == "POST" else [str(run.pk) for run in mine],
    }
    return page(request, "captures/captured_check.html", context, tried)


def _action(request: HttpRequest, site: Site, f: dict[str, str]) -> RecordCapturedCheck:
    instrument = instrument_named(f.get("instrument", ""), site)
    method = method_chosen(f.get("method_version", ""), site)
    keys = [key for key in map(read_key, request.POST.getlist("runs")) if key is not None]
    runs = list(without_fate(site).filter(pk__in=keys))
    if len(runs) != len(set(keys)):
        raise InputError("runs", ", ".join(map(str, keys)), "captured runs of this plant that wait")
    typed = {run.pk: f.get(f"temperature_c_of_{run.pk}", "") for run in runs}
    return RecordCapturedCheck(instrument, f.get("kind", ""), method, runs, typed, f.get("note", ""))


def _instrument(site: Site, typed: str) -> Instrument | None:
    try:
        return instrument_named(typed, site) if typed else None
    except InputError:
        return None


def _method(site: Site, typed: str, instrument: Instrument | None) -> MethodVersion | None:
    """As chosen, else by the last start sheet of the instrument, else the only one there is."""
    try:
        return method_chosen(typed, site)
    except InputError:
        return method_of_day(instrument, timezone.now()) if instrument else None


def _row(run: CapturedRun, method: MethodVersion | None) -> dict[str, Any]:
    judged = judged_of(run, method)
    value = value_of(run, judged)
    finding = judged.found.finding if judged.found else None
    settled = judged.settled_position is not None
    return {
        "run": run,
        "value": value if settled else None,
        "temperature_c": value.sample_temperature_c if value else "",
        "word": finding.diagnosis if finding else "no reading",
        "shape": "pass" if settled else "fail",
    }
