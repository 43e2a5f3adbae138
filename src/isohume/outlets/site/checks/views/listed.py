"""The checks of the plant: which instrument tells the truth now, and the last checks."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.utils import timezone

from isohume.outlets.site.checks.lines import line_of_standings
from isohume.outlets.site.checks.queries import last_checks, standings
from isohume.outlets.site.config.page import page
from isohume.outlets.site.look.screen_line import screen_line
from isohume.outlets.site.people.pages import shown_to
from isohume.outlets.site.people.roles import EVERYONE


@shown_to(EVERYONE)
def checks(request: HttpRequest) -> HttpResponse:
    """Each instrument's standing now, on the line, and what was checked last."""
    found = standings(request.user.site, timezone.now())
    spec = line_of_standings(found)
    context = {
        "standings": found,
        "able": [s for s in found if s.gate.allowed],
        "line": screen_line(spec) if spec is not None else None,
        "last": last_checks(request.user.site, 40),
    }
    return page(request, "checks/checks.html", context)
