"""Moisture and pH of a lot: what was weighed and read, with the check of balance or meter beside it."""

from __future__ import annotations

from collections.abc import Sequence

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect

from isohume.outlets.site.bench.models import Lot
from isohume.outlets.site.config.page import attempt, page
from isohume.outlets.site.lots.actions.record_moisture import RecordMoisture
from isohume.outlets.site.lots.actions.record_ph import RecordPh
from isohume.outlets.site.lots.companion_numbers import BUFFER, MOST_BUFFERS, MOST_DISHES, MOST_VALUES, WEIGHTS
from isohume.outlets.site.people.pages import shown_to
from isohume.outlets.site.people.roles import EVERYONE


@shown_to(EVERYONE)
def moisture_new(request: HttpRequest, pk: int) -> HttpResponse:
    """Moisture from weights."""
    found, tried = get_object_or_404(Lot, pk=pk, site=request.user.site), None
    if request.method == "POST":
        tried = attempt(
            request,
            lambda f: RecordMoisture(
                found,
                basis=f.get("basis", ""),
                method=f.get("method", ""),
                dishes=_rows(f, WEIGHTS, MOST_DISHES),
                **{name: f.get(name, "") for name in ("check_nominal_g", "check_read_g", "check_limit_g")},
                u_wet_basis=f.get("u_wet_basis", ""),
                at=f.get("at", ""),
            ),
        )
        if tried.done:
            return redirect("lot", pk)
    last = found.moistures.order_by("pk").last()
    return page(request, "lots/moisture.html", {"lot": found, "last": last, "dishes": range(1, 4)}, tried)


@shown_to(EVERYONE)
def ph_new(request: HttpRequest, pk: int) -> HttpResponse:
    """pH with its buffers."""
    found, tried = get_object_or_404(Lot, pk=pk, site=request.user.site), None
    if request.method == "POST":
        tried = attempt(
            request,
            lambda f: RecordPh(
                found,
                values=[row["value"] for row in _rows(f, ("value",), MOST_VALUES)],
                buffers=_rows(f, BUFFER, MOST_BUFFERS),
                **{name: f.get(name, "") for name in ("temperature_c", "method", "limit", "u", "at")},
            ),
        )
        if tried.done:
            return redirect("lot", pk)
    context = {"lot": found, "last": found.phs.order_by("pk").last(), "values": range(1, 4), "buffers": range(1, 4)}
    return page(request, "lots/ph.html", context, tried)


def _rows(f: dict[str, str], names: Sequence[str], most: int) -> list[dict[str, str]]:
    """The numbered rows of a form up to the last one with anything in it, so that an error finds its row."""
    rows = [{name: f.get(f"{name}_{number}", "").strip() for name in names} for number in range(1, most + 2)]
    while rows and not any(rows[-1].values()):
        rows.pop()
    return rows
