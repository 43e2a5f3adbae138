"""The shift: a grid of the cups that wait; one row is one run, saved as soon as Enter is pressed in it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any
from urllib.parse import urlencode

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from isohume.foundation.quantity.errors import InputError, shown
from isohume.outlets.site.bench.actions.record_run import Recorded, RecordRun
from isohume.outlets.site.bench.board import Around, row_of, rows_of
from isohume.outlets.site.bench.choices import instrument_typed
from isohume.outlets.site.bench.masks import reading_temperature_typed
from isohume.outlets.site.bench.models import Portion, Run
from isohume.outlets.site.bench.once import read_mark, saved_before
from isohume.outlets.site.bench.queries import hidden_from, last_runs, portions_of, runs_of, versions_in_force, waiting
from isohume.outlets.site.bench.scanned import scanned_portion
from isohume.outlets.site.checks.queries import StandingNow, standings
from isohume.outlets.site.config.keys import read_key
from isohume.outlets.site.config.page import Tried, attempt, page
from isohume.outlets.site.people.pages import shown_to
from isohume.outlets.site.people.roles import EVERYONE

SHIFT = timedelta(hours=12)


@dataclass(frozen=True, slots=True)
class Settings:
    """What is set once on top of the grid."""

    standings: list[StandingNow]
    chosen: StandingNow | None
    block_temperature_c: str
    errors: dict[str, str]

    @property
    def options(self) -> list[tuple[str, str]]:
        """The instruments to choose from, each with what it may do now."""
        return [(str(one.instrument.pk), f"{one.instrument.name}: {one.word}") for one in self.standings]

    @property
    def instrument_key(self) -> str:
        """The chosen instrument's key, for the rows' forms."""
        return str(self.chosen.instrument.pk) if self.chosen else ""

    def around(self, now: datetime) -> Around:
        """What stands around every row."""
        return Around(self.chosen.instrument if self.chosen else None, self.block_temperature_c, now)


@shown_to(EVERYONE)
def shift(request: HttpRequest) -> HttpResponse:
    """The grid; a scanned cup that does not wait any more joins it on top, as a re-read."""
    settings = read_settings(request)
    found = scanned_portion(request.GET.get("scan", ""), request.user.site)
    return shift_page(request, settings, found)


def shift_page(
    request: HttpRequest, settings: Settings, first: Portion | None, tried: Tried | None = None
) -> HttpResponse:
    """The whole page, with a cup to begin with and what was tried on it."""
    site, now = request.user.site, timezone.now()
    portions = waiting(site)
    if first is not None and first.pk not in {portion.pk for portion in portions}:
        portions = [first, *portions]
    last = last_runs(site, now - SHIFT)
    context: dict[str, Any] = {
        "rows": rows_of(portions, versions_in_force(site), settings.around(now)),
        "settings": settings,
        "first": first,
        "scan": request.GET.get("scan", "").strip(),
        "saved": _saved(request),
        "last": last,
        "hidden": hidden_from(request.user, last),
        "tried_row": tried or Tried(),
        "tried_pk": first.pk if first and tried else None,
    }
    return page(request, "bench/shift.html", context, status=422 if tried else 200)


def _saved(request: HttpRequest) -> Run | None:
    """The run that was saved a moment ago, where the page works without its script."""
    return runs_of(request.user.site).filter(pk=read_key(request.GET.get("saved", ""))).first()


@require_http_methods(["GET", "POST"])
@shown_to(EVERYONE)
def shift_row(request: HttpRequest, pk: int) -> HttpResponse:
    """Record the run of one row; the answer is the row as the server keeps it. Asked for, it is the row alone."""
    portion = get_object_or_404(portions_of(request.user.site), pk=pk)
    if request.method == "GET":
        return _fragment(request, portion, Tried())
    before = saved_before(portion, read_mark(request.POST.get("mark", "")))
    tried = (
        Tried(done=True, result=Recorded(*before, ()))
        if before
        else attempt(request, lambda f: _run(request, portion, f))
    )
    if request.htmx:
        return _fragment(request, portion, tried)
    if tried.done:
        return redirect(f"{reverse('shift')}?{urlencode({'saved': tried.result.run.pk})}#grid")
    return shift_page(request, read_settings(request), portion, tried)


def _fragment(request: HttpRequest, portion: Portion, tried: Tried) -> HttpResponse:
    settings = read_settings(request)
    version = versions_in_force(request.user.site).get(portion.sample.lot.product.method_id)
    row = row_of(portion, version, settings.around(timezone.now()))
    context = {"row": row, "tried_row": tried, "tried_pk": portion.pk, "settings": settings}
    return page(request, "bench/shift_row.html", context, status=422 if tried.typed else 200)


def _run(request: HttpRequest, portion: Portion, typed: dict[str, str]) -> RecordRun:
    return RecordRun(
        portion,
        instrument_typed(request.user.site, typed.get("instrument", "")),
        typed.get("a_w", ""),
        sample_temperature_c=typed.get("sample_temperature_c", ""),
        block_temperature_c=typed.get("block_temperature_c", ""),
        read_at=typed.get("read_at", ""),
        override_reason=typed.get("override_reason", ""),
        instrument_number=typed.get("instrument_number", ""),
        reason=typed.get("reason", ""),
        mark=read_mark(typed.get("mark", "")),
    )


def read_settings(request: HttpRequest) -> Settings:
    """Instrument and block temperature: from the form, else as set last in this session, else the first that may."""
    known = standings(request.user.site, timezone.now())
    given = request.POST if request.method == "POST" else request.GET
    kept = request.session.get("shift", {})
    wanted = given.get("instrument", kept.get("instrument", ""))
    typed = given.get("block_temperature_c", kept.get("block_temperature_c", ""))
    chosen = next((one for one in known if str(one.instrument.pk) == wanted), None) or next(
        (one for one in known if one.gate.allowed), None
    )
    errors = {}
    try:
        block = reading_temperature_typed(typed, "block_temperature_c")
    except InputError as error:
        block, errors["block_temperature_c"] = "", f"read {shown(error.value)}; allowed: {error.allowed}"
    settings = {"instrument": str(chosen.instrument.pk) if chosen else "", "block_temperature_c": block}
    if settings != kept and request.method == "GET" and "instrument" in given:
        request.session["shift"] = settings
    return Settings(known, chosen, block, errors)
