"""The edges of a bench day: start sheet and cleaning log."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils import timezone

from isohume.outlets.site.checks.actions.fill_start_sheet import FillStartSheet
from isohume.outlets.site.checks.actions.log_cleaning import LogCleaning
from isohume.outlets.site.checks.forms import instrument_named, local_minute, method_chosen, method_options
from isohume.outlets.site.checks.models import Cleaning, StartSheet
from isohume.outlets.site.config.page import Tried, attempt, page
from isohume.outlets.site.people.models import Site
from isohume.outlets.site.people.pages import shown_to
from isohume.outlets.site.people.roles import EVERYONE
from isohume.outlets.site.register.models import Instrument


@shown_to(EVERYONE)
def start_sheet(request: HttpRequest) -> HttpResponse:
    """Room, warm-up, block against the method; the answer stands on the same page."""
    site, tried = request.user.site, None
    if request.method == "POST":
        tried = attempt(request, lambda f: _start(site, f))
        if tried.done:
            return _answered(tried.result)
    last = StartSheet.objects.filter(instrument__site=site).select_related("instrument", "by", "method_version__method")
    listed = list(last.order_by("-at", "-pk")[:12])
    shown = _shown(request, listed)
    context = {**_shared(request, tried), "method_options": method_options(site), "sheets": listed, "shown": shown}
    return page(request, "checks/start_sheet.html", context, tried)


def _answered(sheet: StartSheet) -> HttpResponse:
    response = redirect("start_sheet")
    response["Location"] += f"?sheet={sheet.pk}"
    return response


def _shown(request: HttpRequest, listed: list[StartSheet]) -> StartSheet | None:
    """The sheet just filled in."""
    return next((sheet for sheet in listed if str(sheet.pk) == request.GET.get("sheet")), None)


def _start(site: Site, f: dict[str, str]) -> FillStartSheet:
    return FillStartSheet(
        instrument_named(f.get("instrument", ""), site),
        method_chosen(f.get("method_version", ""), site),
        f.get("room_temperature_c", ""),
        f.get("room_rh_percent", ""),
        f.get("warmed_up_since", ""),
        f.get("block_temperature_c", ""),
    )


@shown_to(EVERYONE)
def cleaning_new(request: HttpRequest) -> HttpResponse:
    """Log a cleaning; the next check of the instrument names it."""
    site, tried = request.user.site, None
    if request.method == "POST":
        tried = attempt(
            request,
            lambda f: LogCleaning(instrument_named(f.get("instrument", ""), site), f.get("what", ""), f.get("at", "")),
        )
        if tried.done:
            return redirect("cleaning_new")
    last = Cleaning.objects.filter(instrument__site=site).select_related("instrument", "by").prefetch_related("checks")
    context = {**_shared(request, tried), "cleanings": last.order_by("-at", "-pk")[:12]}
    return page(request, "checks/cleaning_new.html", context, tried)


def _shared(request: HttpRequest, tried: Tried | None) -> dict[str, object]:
    instruments = Instrument.objects.filter(site=request.user.site, in_use=True).order_by("name")
    asked = "" if tried is not None else request.GET.get("instrument", "")
    named = next((i.name for i in instruments if asked in (str(i.pk), i.name)), "")
    only = instruments[0].name if len(instruments) == 1 else ""
    return {"instruments": instruments, "instrument": named or only, "start_at": local_minute(timezone.now())}
