"""What a person said the next run of an instrument is: taken by a run, replaced, taken back, or still open."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils import timezone
from django.views.decorators.http import require_POST

from isohume.outlets.site.captures.actions.drop_expected import DropExpected
from isohume.outlets.site.captures.models import Expected
from isohume.outlets.site.captures.queries import STANDS
from isohume.outlets.site.config.page import Tried, attempt, page
from isohume.outlets.site.ledger.actions import By, check
from isohume.outlets.site.ledger.trail import trail_of
from isohume.outlets.site.people.pages import shown_to
from isohume.outlets.site.people.roles import EVERYONE


@shown_to(EVERYONE)
def expected(request: HttpRequest, pk: int) -> HttpResponse:
    """One word of what is next, and what became of it."""
    return _page(request, _found(request, pk), None)


@require_POST
@shown_to(EVERYONE)
def expected_drop(request: HttpRequest, pk: int) -> HttpResponse:
    """Take it back."""
    found = _found(request, pk)
    tried = attempt(request, lambda _: DropExpected(found))
    return redirect(found) if tried.done else _page(request, found, tried)


def _found(request: HttpRequest, pk: int) -> Expected:
    related = ("instrument__site", "by", "taken", "portion__sample__lot", "bottle__solution_lot")
    known = Expected.objects.filter(instrument__site=request.user.site).select_related(*related)
    return get_object_or_404(known, pk=pk)


def _page(request: HttpRequest, found: Expected, tried: Tried | None) -> HttpResponse:
    now = timezone.now()
    context = {
        "expected": found,
        "says": _says(found, now - found.at > STANDS),
        "verdict": check(DropExpected(found), By(request.user, now)),
        "trail": trail_of(found.ref),
    }
    return page(request, "captures/expected.html", context, tried)


def _says(found: Expected, old: bool) -> tuple[str, str]:
    if found.taken is not None:
        return f"{found.taken.named.capitalize()} took it", "pass"
    if found.dropped_at is not None:
        return "Taken back, or replaced by another word", "void"
    if old:
        return "Too old to be taken: say it again before the run", "due"
    return f"Still open: the next run of {found.instrument.name} takes it", "wait"
