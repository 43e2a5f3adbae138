"""Today: what may I measure now, what waits, what is wrong?"""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils import timezone

from isohume.outlets.site.bench.actions.hand_over import WriteHandOver
from isohume.outlets.site.bench.models import HandOver
from isohume.outlets.site.bench.today import MOST_CUPS, shift_age, today_of
from isohume.outlets.site.config.page import attempt, page
from isohume.outlets.site.look.screen_line import screen_line
from isohume.outlets.site.people.pages import shown_to
from isohume.outlets.site.people.roles import EVERYONE


@shown_to(EVERYONE)
def today(request: HttpRequest) -> HttpResponse:
    """The line with each instrument's range and hours, then what waits, what is wrong, what is due."""
    now = timezone.now()
    found = today_of(request.user.site, request.user, now)
    context = {
        "today": found,
        "line": screen_line(found.line) if found.line is not None else None,
        "cups": found.cups[:MOST_CUPS],
        "note_age": shift_age(found.hand_over, now) if found.hand_over else "",
    }
    return page(request, "bench/today.html", context)


@shown_to(EVERYONE)
def hand_over_new(request: HttpRequest) -> HttpResponse:
    """Write the note for the next shift; the notes before it stay."""
    site, tried = request.user.site, None
    if request.method == "POST":
        tried = attempt(request, lambda f: WriteHandOver(site, f.get("text", "")))
        if tried.done:
            return redirect("today")
    notes = HandOver.objects.filter(site=site).select_related("by").order_by("-at", "-pk")[:20]
    return page(request, "bench/hand_over_new.html", {"notes": notes}, tried)
