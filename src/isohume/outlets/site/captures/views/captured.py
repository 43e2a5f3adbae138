"""One captured run: can it be believed? Its trace, what it says, and what a person does about it."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils import timezone
from django.views.decorators.http import require_POST

from isohume.bench.reading.settling.exports import samples_csv, samples_parquet
from isohume.foundation.quantity.errors import InputError
from isohume.outlets.site.captures.actions.accept_run import AcceptRun
from isohume.outlets.site.captures.actions.assign_run import AssignRun
from isohume.outlets.site.captures.actions.void_captured import VoidCaptured
from isohume.outlets.site.captures.after_acceptance import said_after
from isohume.outlets.site.captures.captured_page import headline, judged_facts, readings_facts
from isohume.outlets.site.captures.causes import CAUSES
from isohume.outlets.site.captures.judged import judged_of
from isohume.outlets.site.captures.kept import samples_of
from isohume.outlets.site.captures.models import CapturedRun
from isohume.outlets.site.captures.queries import captured_of
from isohume.outlets.site.captures.sequence import said_in_order
from isohume.outlets.site.captures.trace_picture import picture_of
from isohume.outlets.site.captures.value import value_of
from isohume.outlets.site.captures.whose import choices_of, of_typed
from isohume.outlets.site.config.page import Tried, attempt, page
from isohume.outlets.site.ledger.actions import Action, By, check
from isohume.outlets.site.ledger.trail import trail_of
from isohume.outlets.site.people.pages import shown_to
from isohume.outlets.site.people.roles import EVERYONE

ACCEPT = ("sample_temperature_c", "block_temperature_c", "override_reason", "reason")
KINDS = {"csv": "text/csv; charset=utf-8", "parquet": "application/vnd.apache.parquet"}


@shown_to(EVERYONE)
def capturedrun(request: HttpRequest, pk: int) -> HttpResponse:
    """The run with everything that is to be said of it."""
    return _run_page(request, _run(request, pk), None, "")


@require_POST
@shown_to(EVERYONE)
def capturedrun_act(request: HttpRequest, pk: int, act: str) -> HttpResponse:
    """Accept it, void it, or say whose it was."""
    run = _run(request, pk)
    tried = attempt(request, lambda f: ACTS[act](run, f))
    if not tried.done:
        return _run_page(request, run, tried, act)
    return redirect(tried.result.run if act == "accept" else run)


@shown_to(EVERYONE)
def captured_export(request: HttpRequest, pk: int, kind: str) -> HttpResponse:
    """The readings as a file; Parquet where its optional part is installed."""
    run = _run(request, pk)
    samples = samples_of(run)
    try:
        body = samples_csv(samples).encode() if kind == "csv" else samples_parquet(samples)
    except InputError as error:
        return page(request, "captures/no_parquet.html", {"run": run, "wants": error.allowed}, status=501)
    name = f"captured-run-{run.pk}.{kind}"
    return HttpResponse(
        body, content_type=KINDS[kind], headers={"Content-Disposition": f'attachment; filename="{name}"'}
    )


def _run(request: HttpRequest, pk: int) -> CapturedRun:
    return get_object_or_404(captured_of(request.user.site), pk=pk)


def _assign(run: CapturedRun, f: dict[str, str]) -> AssignRun:
    portion, bottle = of_typed(f.get("of", ""), run.site)
    return AssignRun(run, portion, bottle, f.get("reason", ""))


ACTS: dict[str, Callable[[CapturedRun, dict[str, str]], Action[Any]]] = {
    "accept": lambda run, f: AcceptRun(run, **{name: f.get(name, "") for name in ACCEPT}),
    "void": lambda run, f: VoidCaptured(run, f.get("cause", ""), f.get("reason", "")),
    "assign": _assign,
}


def _run_page(request: HttpRequest, run: CapturedRun, tried: Tried | None, act: str) -> HttpResponse:
    judged, in_order = judged_of(run), said_in_order(run)
    asked = By(request.user, timezone.now())
    waits = run.fate == "waiting"
    shown: dict[str, Any] = {
        "run": run,
        "says": headline(run, judged, in_order),
        "judged": judged,
        "finding": judged.found.finding if judged.found else None,
        "value": value_of(run, judged) if waits else None,
        "facts": judged_facts(judged),
        "readings": readings_facts(run, judged),
        "in_order": in_order,
        "after": said_after(run, judged),
        "picture": picture_of(run, judged),
        "causes": list(CAUSES.items()),
        "cause": CAUSES.get(run.void_cause, ""),
        "choices": choices_of(run) if waits else [],
        "may_accept": check(AcceptRun(run), asked),
        "may_void": check(VoidCaptured(run, ""), asked),
        "may_assign": check(AssignRun(run), asked),
        "trail": trail_of(run.ref),
        "act": act,
    }
    return page(request, "captures/capturedrun.html", shown, tried)
