"""Is every run accounted for? Each instrument's runs in order, for a day or a span of days."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import timedelta

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils import timezone
from django.views.decorators.http import require_POST

from isohume.foundation.quantity.errors import InputError, shown
from isohume.outlets.site.bench.moments import plant_day
from isohume.outlets.site.captures.accounting import MOST_DAYS, Accounts, Span, TooMany, accounts_of
from isohume.outlets.site.captures.queries import said_next
from isohume.outlets.site.captures.unaccounted_deviation import deviation_about
from isohume.outlets.site.captures.unread import unread_of
from isohume.outlets.site.config.keys import read_key
from isohume.outlets.site.config.page import Tried, attempt, page
from isohume.outlets.site.people.pages import shown_to
from isohume.outlets.site.people.roles import EVERYONE
from isohume.outlets.site.register.actions.fields import read_date
from isohume.outlets.site.register.models import Instrument


@shown_to(EVERYONE)
def accounting(request: HttpRequest) -> HttpResponse:
    """Every number of the instruments in order, with what came of it."""
    return _page(request, request.GET, None)


@require_POST
@shown_to(EVERYONE)
def accounting_deviation(request: HttpRequest) -> HttpResponse:
    """Open a deviation about a gap or an orphan, in one act."""
    tried = attempt(request, lambda f: deviation_about(request.user.site, f.get("about", ""), f.get("day", "")))
    if tried.done:
        return redirect("deviation", tried.result.pk)
    return _page(request, {}, tried)


def _page(request: HttpRequest, asked: Mapping[str, str], tried: Tried | None) -> HttpResponse:
    site = request.user.site
    today = plant_day(timezone.now(), site)
    span, errors = Span(today, today), {}
    try:
        span = _span(asked.get("from", ""), asked.get("to", ""), span)
    except InputError as error:
        errors = {error.field: f"read {shown(error.value)}; allowed: {error.allowed}"}
    instruments = list(Instrument.objects.filter(site=site).select_related("site").order_by("-in_use", "name"))
    key = read_key(asked.get("instrument", ""))
    chosen = [one for one in instruments if key is None or one.pk == key]
    found, too_many = _accounts(chosen, span) if not errors else ([], "")
    context = {
        "accounts": [one for one in found if one.rows or key is not None],
        "quiet": [one.instrument for one in found if not one.rows and key is None],
        "missing": sum(one.missing for one in found),
        "unexplained": sum(one.unexplained for one in found),
        "span": span,
        "too_many": too_many,
        "instruments": [(one.pk, one.name) for one in instruments],
        "instrument": key or "",
        "asked": Tried(errors=errors, typed={name: asked[name] for name in ("from", "to") if name in asked}),
        "said_next": said_next(site, timezone.now()),
        "unread": unread_of(chosen, *span.moments(site)),
    }
    return page(request, "captures/accounting.html", context, tried, **({} if tried else {"status": 200}))


def _accounts(instruments: list[Instrument], span: Span) -> tuple[list[Accounts], str]:
    """The accounts, or why a page cannot hold them."""
    try:
        return accounts_of(instruments, span), ""
    except TooMany as error:
        return [], str(error)


def _span(first: str, last: str, otherwise: Span) -> Span:
    """The days asked for; one day where only one is given.

    Raises: InputError at `from` or `to` for what is no day, ends before it begins, or is longer than a page holds.
    """
    if not first.strip() and not last.strip():
        return otherwise
    begin = read_date(first or last, "from")
    end = read_date(last or first, "to")
    if end < begin:
        raise InputError("to", last, f"a day not before {begin}")
    if end - begin > timedelta(days=MOST_DAYS):
        raise InputError("to", last, f"at most {MOST_DAYS} days after the first one")
    return Span(begin, end)
