"""Do our numbers agree, with each other and with others?"""

from __future__ import annotations

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.urls import reverse
from django.utils import timezone

from isohume.bench.assurance.due import due_list
from isohume.outlets.site.bench.moments import plant_day
from isohume.outlets.site.comparisons import queries
from isohume.outlets.site.comparisons.due import due_items
from isohume.outlets.site.comparisons.rounds import SHAPES, WORDS
from isohume.outlets.site.config.page import page
from isohume.outlets.site.people.models import Site
from isohume.outlets.site.people.pages import shown_to
from isohume.outlets.site.people.roles import EVERYONE
from isohume.outlets.site.register.due_items import DueRow, page_of


@shown_to(EVERYONE)
def comparisons(request: HttpRequest) -> HttpResponse:
    """Each kind with its last outcome, and what is due."""
    site = request.user.site
    today = plant_day(timezone.now(), site)
    due = [DueRow(one, page_of(one.item.ref)) for one in due_list(due_items(site, timezone.now()), today)]
    rows = _rows(site)
    context = {"rows": rows, "due": due, "wrong": [row for row in rows if row["shape"] == "fail"]}
    return page(request, "comparisons/comparisons.html", context)


def _rows(site: Site) -> list[dict[str, Any]]:
    kept, last_round = queries.comparisons_of(site).first(), queries.rounds_of(site).last()
    study, sites = queries.gauge_studies_of(site).first(), queries.site_comparisons_of(site).first()
    blind = queries.blind_references_of(site).first()
    apart = sites is not None and "differ" in sites.outcome
    said = "" if last_round is None else f"{last_round}: z = {last_round.z:.2f}, {WORDS[last_round.word]}"
    mark = "unknown" if last_round is None else SHAPES[last_round.word]
    return [
        _row(
            "Two instruments on the same materials",
            "instrument_comparisons",
            kept,
            kept and f"{kept}: {kept.outcome}",
            _stands(kept),
        ),
        _row("Proficiency rounds", "rounds", last_round, said, mark),
        _row(
            "Repeatability and intermediate precision", "precision", None, "From our own readings, at any time", "info"
        ),
        _row("Gauge studies", "gauge_studies", study, study and f"{study}: {study.outcome}", "info"),
        _row(
            "Sister sites on one control product",
            "site_comparisons",
            sites,
            sites and f"{sites}: {sites.outcome}",
            "fail" if apart else "pass",
        ),
        _row("Blind references", "blind_references", blind, blind and f"{blind}: {blind.state}", _blind(blind)),
    ]


def _row(text: str, name: str, last: Any, said: str | None, shape: str) -> dict[str, Any]:
    at = last.at if hasattr(last, "at") else getattr(last, "set_at", None)
    return {
        "text": text,
        "url": reverse(name),
        "said": said or "none yet",
        "shape": shape if said else "unknown",
        "at": at,
    }


def _stands(kept: Any) -> str:
    return "pass" if kept and kept.stand_in else "due"


def _blind(blind: Any) -> str:
    return "wait" if blind is None else str(blind.shape)
