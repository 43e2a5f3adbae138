"""Reference solutions: the lots, one lot with its balance records, one bottle, and their changes."""

from __future__ import annotations

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.utils import timezone

from isohume.bench.reading.companions import balance_check
from isohume.foundation.quantity.typed import read_decimal
from isohume.outlets.site.bench.moments import plant_day
from isohume.outlets.site.checks.models import Check
from isohume.outlets.site.config.page import page
from isohume.outlets.site.look.screen_line import screen_line
from isohume.outlets.site.people.models import Site
from isohume.outlets.site.people.pages import shown_to
from isohume.outlets.site.people.roles import EVERYONE
from isohume.outlets.site.register.actions.add_bottle import AddBottle
from isohume.outlets.site.register.actions.add_solution_lot import AddSolutionLot
from isohume.outlets.site.register.actions.discard_bottle import DiscardBottle
from isohume.outlets.site.register.actions.open_bottle import OpenBottle
from isohume.outlets.site.register.actions.record_weighing import RecordWeighing
from isohume.outlets.site.register.actions.withdraw_solution_lot import WithdrawSolutionLot
from isohume.outlets.site.register.bottle_life import bottle_answer, bottle_chart, bottle_how, ledger_of, sibling_chart
from isohume.outlets.site.register.due_items import due_rows
from isohume.outlets.site.register.figures import as_weighed, value_of
from isohume.outlets.site.register.forms import solutions as forms
from isohume.outlets.site.register.models import BalanceRecord, Bottle, SolutionLot
from isohume.outlets.site.register.pictures import Solution, references_line, scan_mark
from isohume.outlets.site.register.queries import reasons_against_bottle, reasons_against_lot
from isohume.outlets.site.register.views.act import act_page, offered

LAST = 10


@shown_to(EVERYONE)
def solutions(request: HttpRequest) -> HttpResponse:
    """Every lot of the plant, where it should read, and whether it may be used today."""
    site = request.user.site
    day = plant_day(timezone.now(), site)
    lots = SolutionLot.objects.filter(site=site).prefetch_related("bottles", "weighings").order_by("solution", "-pk")
    rows = [(lot, value_of(lot), reasons_against_lot(lot, day), _open(lot)) for lot in lots]
    usable = {_solution(lot): value.number for lot, value, against, _ in rows if not against and value.number}
    context = {
        "rows": rows,
        "line": screen_line(references_line(usable, _last_read(site))) if usable else None,
        "add": offered(request.user, "Add reference lot", reverse("solution_new"), AddSolutionLot),
    }
    return page(request, "register/solutions.html", context)


def _solution(lot: SolutionLot) -> Solution:
    return lot.solution, float(lot.molality) if lot.molality else None


def _last_read(site: Site) -> dict[Solution, dict[str, Any]]:
    """How each solution read in the last check that it was in; void checks say nothing."""
    found: dict[Solution, dict[str, Any]] = {}
    for check in Check.objects.filter(instrument__site=site, voided_at=None).order_by("-last_read_at", "-pk")[:LAST]:
        for read in check.result["solutions"]:
            found.setdefault((read["solution"], read["molality"]), read)
    return found


def _open(lot: SolutionLot) -> int:
    return sum(bottle.opened_at is not None and bottle.discarded_at is None for bottle in lot.bottles.all())


@shown_to(EVERYONE)
def solution_new(request: HttpRequest) -> HttpResponse:
    """The form for a new lot."""
    return act_page(request, forms.new(request.user.site))


@shown_to(EVERYONE)
def solutionlot(request: HttpRequest, pk: int) -> HttpResponse:
    """What it should read, how it was made and weighed, what used it."""
    lot = get_object_or_404(SolutionLot.objects.select_related("made_by", "site"), pk=pk, site=request.user.site)
    now, url = timezone.now(), "solutionlot_act"
    day = plant_day(now, lot.site)
    used = Check.objects.filter(readings__bottle__solution_lot=lot).select_related("instrument", "by").distinct()
    acts = (
        ("Add bottle", "bottle", AddBottle),
        ("Record weighing", "weighing", RecordWeighing),
        ("Withdraw reference lot", "withdraw", WithdrawSolutionLot),
    )
    context = {
        "lot": lot,
        "value": value_of(lot),
        "against": reasons_against_lot(lot, day),
        "weighings": [(w, _said(w), as_weighed(lot, w)) for w in lot.weighings.select_related("weighed_by")],
        "bottles": [(bottle, reasons_against_bottle(bottle, day)) for bottle in lot.bottles.order_by("pk")],
        "checks": used.defer("result").order_by("-last_read_at")[:LAST],
        "used": used.count(),
        "due": due_rows(lot.site, now, of=[lot.ref, *(bottle.ref for bottle in lot.bottles.all())]),
        "acts": [offered(request.user, text, reverse(url, args=[lot.pk, act]), kind) for text, act, kind in acts],
    }
    return page(request, "register/solutionlot.html", context)


def _said(weighing: BalanceRecord) -> str:
    """The balance's own check in words, judged again from what was typed."""
    typed = (weighing.check_nominal_g, weighing.check_read_g, weighing.check_limit_g)
    return balance_check(*(read_decimal(grams, "check") for grams in typed)).text


@shown_to(EVERYONE)
def solutionlot_act(request: HttpRequest, pk: int, act: str) -> HttpResponse:
    """Add a bottle, record a weighing, or withdraw."""
    return act_page(request, forms.of_lot(get_object_or_404(SolutionLot, pk=pk, site=request.user.site), act))


@shown_to(EVERYONE)
def bottle(request: HttpRequest, pk: int) -> HttpResponse:
    """May it be read, and does it still read true?"""
    found = get_object_or_404(
        Bottle.objects.select_related("solution_lot__site"), pk=pk, solution_lot__site=request.user.site
    )
    now = timezone.now()
    acts = (("Open bottle", "open", OpenBottle), ("Discard bottle", "discard", DiscardBottle))
    wanted = acts if found.opened_at is None else acts[1:]
    readings = found.readings.select_related("of_check__instrument").order_by("-read_at")
    ledger = ledger_of(found.solution_lot.site, now)
    reads = bottle_answer(found, ledger)
    context = {
        "bottle": found,
        "lot": found.solution_lot,
        "value": value_of(found.solution_lot),
        "against": reasons_against_bottle(found, plant_day(now, found.solution_lot.site)),
        "readings": readings[:LAST],
        "chart": bottle_chart(found),
        "beside": sibling_chart(found),
        "reads": reads,
        "reads_how": bottle_how(ledger, reads.own),
        "days_open": (now - found.opened_at).days if found.opened_at else None,
        "due": due_rows(found.solution_lot.site, now, of=[found.ref, found.solution_lot.ref]),
        "scan": scan_mark(found.scan_code),
        "acts": []
        if found.discarded_at
        else [
            offered(request.user, text, reverse("bottle_act", args=[found.pk, act]), kind) for text, act, kind in wanted
        ],
    }
    return page(request, "register/bottle.html", context)


@shown_to(EVERYONE)
def bottle_act(request: HttpRequest, pk: int, act: str) -> HttpResponse:
    """Open or discard."""
    found = get_object_or_404(Bottle, pk=pk, solution_lot__site=request.user.site)
    return act_page(request, forms.of_bottle(found, act))
