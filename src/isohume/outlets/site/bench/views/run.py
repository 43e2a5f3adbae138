"""One run: can it be believed? Its guard, its keyings, its correction or its voiding."""

from __future__ import annotations

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils import timezone
from django.views.decorators.http import require_POST

from isohume.outlets.site.bench.actions.correct_run import CorrectRun
from isohume.outlets.site.bench.actions.void_run import VoidRun
from isohume.outlets.site.bench.guard import Guarded
from isohume.outlets.site.bench.how_words import warm_how
from isohume.outlets.site.bench.limits import over_clock
from isohume.outlets.site.bench.models import Run
from isohume.outlets.site.bench.queries import runs_of
from isohume.outlets.site.bench.rereads import nth_read
from isohume.outlets.site.bench.run_line import run_line
from isohume.outlets.site.checks.how_shown import how_shown
from isohume.outlets.site.config.page import Tried, attempt, page
from isohume.outlets.site.ledger.actions import By, check
from isohume.outlets.site.ledger.trail import Said, trail_of
from isohume.outlets.site.people.pages import shown_to
from isohume.outlets.site.people.roles import EVERYONE

ACTS = {
    "correct": lambda run, f: CorrectRun(
        run, **{name: f.get(name, "") for name in ("a_w", "sample_temperature_c", "block_temperature_c", "reason")}
    ),
    "void": lambda run, f: VoidRun(run, f.get("reason", "")),
}


@shown_to(EVERYONE)
def run(request: HttpRequest, pk: int) -> HttpResponse:
    """The run with everything that is to be said of it."""
    return _run_page(request, _found(request, pk), None, "")


@require_POST
@shown_to(EVERYONE)
def run_act(request: HttpRequest, pk: int, act: str) -> HttpResponse:
    """Correct it or void it."""
    found = _found(request, pk)
    tried = attempt(request, lambda f: ACTS[act](found, f))
    return redirect(tried.result) if tried.done else _run_page(request, found, tried, act)


def _found(request: HttpRequest, pk: int) -> Run:
    related = (
        "method_version__method",
        "opening_check",
        "imported",
        "corrects",
        "voided_by",
        "portion__sample__lot__site",
    )
    return get_object_or_404(runs_of(request.user.site).select_related(*related), pk=pk)


def _run_page(request: HttpRequest, found: Run, tried: Tried | None, act: str) -> HttpResponse:
    lot, trail = found.portion.sample.lot, trail_of(found.ref)
    guarded = guarded_of(found)
    warm = guarded.warm(found.a_w)
    asked = By(request.user, timezone.now())
    shown: dict[str, Any] = {
        "run": found,
        "portion": found.portion,
        "lot": lot,
        "corrected_by": getattr(found, "corrected_by", None),
        "captured": getattr(found, "captured", None),
        "read": _read_said(found, trail),
        "said": [*guarded.words(found.a_w), *filter(None, [over_clock_then(found)])],
        "warm_how": how_shown(warm_how(guarded, warm, found.a_w)) if warm else None,
        "keyings": list(found.second_keyings.select_related("by").order_by("pk")),
        "deviations": list(found.deviations.order_by("pk")),
        "records": list(found.records.order_by("pk")),
        "line": run_line(found),
        "may_correct": check(CorrectRun(found), asked),
        "may_void": check(VoidRun(found, ""), asked),
        "trail": trail,
        "act": act,
    }
    return page(request, "bench/run.html", shown, tried)


def guarded_of(found: Run) -> Guarded:
    """What stood around a run when it was read."""
    return Guarded(
        found.portion.sample.lot.specification,
        found.method_version,
        found.instrument,
        found.sample_temperature_c,
        found.block_temperature_c,
        found.override_reason,
    )


def over_clock_then(found: Run) -> str:
    """Whether the cup had stood too long when it was read; a cover changed since then says nothing about it."""
    portion = found.portion
    return over_clock(portion, found.method_version, found.read_at) if portion.covered_at <= found.read_at else ""


def _read_said(found: Run, trail: list[Said]) -> str:
    """Which read of the cup it was, as it was said when it was recorded."""
    recorded = [line.details["read"] for line in trail if "read" in line.details]
    return recorded[0] if recorded else nth_read(found.portion.code, 1)
