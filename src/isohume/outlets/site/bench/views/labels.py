"""Labels: choose what is to be labelled, and print the sheet."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect

from isohume.outlets.site.bench.actions.print_labels import PAPERS, PrintLabels
from isohume.outlets.site.bench.label_choice import Choice, chosen, of_bench, of_cup, of_lot, of_sample
from isohume.outlets.site.bench.models import Lot, Portion, Sample
from isohume.outlets.site.config.keys import read_key
from isohume.outlets.site.config.page import attempt, page
from isohume.outlets.site.people.models import Site
from isohume.outlets.site.people.pages import shown_to
from isohume.outlets.site.people.roles import EVERYONE

LAST_LOTS = 60


@shown_to(EVERYONE)
def labels(request: HttpRequest) -> HttpResponse:
    """What may be labelled, and the act of printing it."""
    site, tried = request.user.site, None
    what, choices = _choices(site, request.GET)
    if request.method == "POST":
        codes = request.POST.getlist("codes")
        tried = attempt(request, lambda f: PrintLabels(site, chosen(choices, codes), f.get("paper", "")))
        if tried.done:
            return redirect("job", tried.result.pk)
    shown = {
        "what": what,
        "choices": choices,
        "ticked": request.POST.getlist("codes") if tried else [choice.code for choice in choices],
        "lots": list(Lot.objects.filter(site=site).order_by("-pk").values_list("code", flat=True)[:LAST_LOTS]),
        "lot": request.GET.get("lot", ""),
        "papers": PAPERS,
    }
    return page(request, "bench/labels.html", shown, tried)


def _choices(site: Site, asked: dict[str, str]) -> tuple[str, list[Choice]]:
    """The labels of what the address names."""
    if code := asked.get("lot", "").strip():
        lots = Lot.objects.select_related("product").filter(site=site, key=code.casefold())
        lot = lots.first()
        return (f"lot {lot.code}", of_lot(lot)) if lot else ("", [])
    if key := asked.get("sample", ""):
        sample = get_object_or_404(Sample.objects.select_related("lot__product"), pk=read_key(key), lot__site=site)
        return f"sample {sample}", of_sample(sample, sample.lot)
    if key := asked.get("cup", ""):
        related = Portion.objects.select_related("sample__lot__product")
        cup = get_object_or_404(related, pk=read_key(key), sample__lot__site=site)
        return f"cup {cup}", of_cup(cup)
    return ("the bench", of_bench(site)) if "bench" in asked else ("", [])
