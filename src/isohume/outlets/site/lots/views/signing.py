"""Sign records: what waits, what was changed on the way, one password for what is ticked."""

from __future__ import annotations

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.utils.http import urlencode
from django.views.decorators.debug import sensitive_post_parameters

from isohume.outlets.site.config.page import Tried, attempt, page
from isohume.outlets.site.lots.actions.sign_records import POLICY, STATEMENTS, SignRecords
from isohume.outlets.site.lots.models import LotRecord
from isohume.outlets.site.lots.sign_list import waiting_for
from isohume.outlets.site.lots.signing_rules import MEANINGS
from isohume.outlets.site.people.pages import shown_to
from isohume.outlets.site.people.proof import prove
from isohume.outlets.site.people.roles import EVERYONE


@sensitive_post_parameters("password")
@shown_to(EVERYONE)
def sign(request: HttpRequest) -> HttpResponse:
    """The list of one meaning, or one record of it."""
    if request.method != "POST":
        return _show(request, request.GET.get("meaning", "reviewed"), request.GET.get("record", ""), None)
    ticked, meaning = _ticked(request), request.POST.get("meaning", "")
    tried = attempt(
        request,
        lambda f: SignRecords(
            request.user.site,
            ticked,
            meaning,
            prove(request, f.get("password", "")),
            f.get("accepts_policy") == "on",
            f.get("rejection_reason", ""),
        ),
    )
    if not tried.done:
        return _show(request, meaning, request.POST.get("record", ""), tried)
    if len(ticked) == 1:
        return redirect("lot", ticked[0].lot_id)
    return redirect(f"{reverse('sign')}?{urlencode({'meaning': meaning, 'signed': len(ticked)})}")


def _ticked(request: HttpRequest) -> list[LotRecord]:
    """The ticked records; one that is not of this plant is not found."""
    names = sorted(set(request.POST.getlist("records")))
    found = LotRecord.objects.filter(record__in=names[:1000], lot__site=request.user.site)
    records = list(found.select_related("lot__site", "opening_check__instrument"))
    if len(records) != len(names):
        raise Http404
    return records


def _show(request: HttpRequest, meaning: str, only: str, tried: Tried | None) -> HttpResponse:
    if meaning not in MEANINGS:
        raise Http404
    waiting, reasons = waiting_for(request.user, meaning, only)
    signed = request.GET.get("signed", "")
    context = {
        "meaning": meaning,
        "meanings": MEANINGS,
        "waiting": waiting,
        "may": [w for w in waiting if w.may_sign],
        "others": [w for w in waiting if not w.may_sign],
        "reasons": reasons,
        "only": only,
        "ticked": set(request.POST.getlist("records")) | ({only} if only else set()),
        "all": request.GET.get("tick") == "all",
        "policy": "" if request.user.policy_accepted_at else POLICY,
        "statement": STATEMENTS[meaning],
        "signed": signed if signed.isdecimal() else "",
    }
    return page(request, "lots/sign.html", context, tried)
