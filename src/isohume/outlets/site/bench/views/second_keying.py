"""The second keying: a grid of typed runs whose numbers another person keys once more, without seeing the first."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils import timezone
from django.views.decorators.http import require_POST

from isohume.outlets.site.bench.actions.key_second import KeySecond
from isohume.outlets.site.bench.models import SecondKeying
from isohume.outlets.site.bench.queries import runs_of, to_key_second
from isohume.outlets.site.config.page import Tried, attempt, page
from isohume.outlets.site.people.pages import shown_to
from isohume.outlets.site.people.roles import EVERYONE


@shown_to(EVERYONE)
def second_keying(request: HttpRequest) -> HttpResponse:
    """What waits for this person's keying."""
    return _keying_page(request, Tried(), None)


@require_POST
@shown_to(EVERYONE)
def second_keying_row(request: HttpRequest, pk: int) -> HttpResponse:
    """Key one run; the answer says whether both keyings agree."""
    run = get_object_or_404(runs_of(request.user.site), pk=pk)
    tried = attempt(request, lambda f: KeySecond(run, f.get("a_w", "")))
    if request.htmx:
        context = {"run": run, "tried_row": tried, "tried_pk": pk}
        return page(request, "bench/second_keying_row.html", context, status=200 if tried.done else 422)
    return redirect("second_keying") if tried.done else _keying_page(request, tried, pk)


def _keying_page(request: HttpRequest, tried: Tried, pk: int | None) -> HttpResponse:
    person, today = request.user, timezone.localtime().replace(hour=0, minute=0, second=0, microsecond=0)
    mine = SecondKeying.objects.filter(by=person, at__gte=today).select_related("run__portion__sample__lot")
    shown = {
        "runs": to_key_second(person.site, person),
        "mine": list(mine.order_by("-pk")[:12]),
        "tried_row": tried,
        "tried_pk": pk,
    }
    return page(request, "bench/second_keying.html", shown, status=422 if pk else 200)
