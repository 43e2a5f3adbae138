"""Instruments: the list, one instrument, and its changes."""

from __future__ import annotations

from zoneinfo import ZoneInfo

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.utils import timezone

from isohume.outlets.site.checks.models import Check
from isohume.outlets.site.checks.queries import StandingNow, gate, standings
from isohume.outlets.site.config.page import page
from isohume.outlets.site.look.screen_line import screen_line
from isohume.outlets.site.people.models import Person
from isohume.outlets.site.people.pages import shown_to
from isohume.outlets.site.people.roles import EVERYONE
from isohume.outlets.site.register.actions.add_instrument import AddInstrument
from isohume.outlets.site.register.actions.change_instrument import ChangeInstrument
from isohume.outlets.site.register.actions.return_instrument import ReturnInstrument
from isohume.outlets.site.register.actions.withdraw_instrument import WithdrawInstrument
from isohume.outlets.site.register.bottle_life import ledger_of
from isohume.outlets.site.register.drift import drift_words, traces
from isohume.outlets.site.register.due_items import due_rows
from isohume.outlets.site.register.forms import instruments as forms
from isohume.outlets.site.register.models import Bottle, Instrument
from isohume.outlets.site.register.pictures import scan_mark, standing_line, trace_chart
from isohume.outlets.site.register.views.act import Offered, act_page, offered

LAST = 10


@shown_to(EVERYONE)
def instruments(request: HttpRequest) -> HttpResponse:
    """Every instrument of the plant with its standing now."""
    add = offered(request.user, "Add instrument", reverse("instrument_new"), AddInstrument)
    found = standings(request.user.site, timezone.now())
    return page(request, "register/instruments.html", {"standings": found, "add": add})


@shown_to(EVERYONE)
def instrument_new(request: HttpRequest) -> HttpResponse:
    """The form for a new one."""
    return act_page(request, forms.new(request.user.site))


@shown_to(EVERYONE)
def instrument(request: HttpRequest, pk: int) -> HttpResponse:
    """Is it drifting? Standing, deviations, bottles, sheets, cleanings, what is due."""
    found = get_object_or_404(Instrument.objects.select_related("site"), pk=pk, site=request.user.site)
    now, zone = timezone.now(), ZoneInfo(found.site.time_zone)
    seen = traces(found, now)
    words, shape = drift_words(found, ledger_of(found.site, now))
    checks = Check.objects.filter(instrument=found).select_related("by", "method_version__method")
    used = Bottle.objects.filter(readings__of_check__instrument=found).select_related("solution_lot").distinct()
    standing = StandingNow(found, gate(found, now))
    check = standing.gate.check
    context = {
        "instrument": found,
        "words": words,
        "shape": shape,
        "standing": standing,
        "line": screen_line(standing_line(check, standing.covers)) if check else None,
        "traces": [(trace, trace_chart(trace, zone)) for trace in seen],
        "checks": checks.defer("result").order_by("-last_read_at", "-pk")[:LAST],
        "bottles": used.order_by("-opened_at", "-pk")[:LAST],
        "sheets": found.start_sheets.select_related("by").order_by("-at")[:LAST],
        "cleanings": found.cleanings.select_related("by").order_by("-at")[:LAST],
        "due": due_rows(found.site, now, of=[found.ref]),
        "scan": scan_mark(found.scan_code),
        "acts": _acts(request.user, found),
    }
    return page(request, "register/instrument.html", context)


def _acts(person: Person, found: Instrument) -> list[Offered]:
    change = ("Change instrument", "change", ChangeInstrument)
    last = (
        ("Take instrument out of use", "withdraw", WithdrawInstrument)
        if found.in_use
        else ("Return instrument to use", "return", ReturnInstrument)
    )
    return [
        offered(person, text, reverse("instrument_act", args=[found.pk, act]), action)
        for text, act, action in (change, last)
    ]


@shown_to(EVERYONE)
def instrument_act(request: HttpRequest, pk: int, act: str) -> HttpResponse:
    """Change, withdraw or return."""
    found = get_object_or_404(Instrument, pk=pk, site=request.user.site)
    return act_page(request, forms.of_instrument(found, act))
