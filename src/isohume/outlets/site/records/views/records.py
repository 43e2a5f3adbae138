"""Records: the list, one record's story and proof, and the whole evidence verified."""

from __future__ import annotations

from django.conf import settings
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404

from isohume.bench.record.head import read_head
from isohume.bench.record.verification import verify as verify_evidence
from isohume.outlets.paper.export import readings_csv
from isohume.outlets.paper.record_line import line_of
from isohume.outlets.site.config.keys import read_key
from isohume.outlets.site.config.page import page
from isohume.outlets.site.look.screen_line import screen_line
from isohume.outlets.site.lots.frozen import frozen, questions
from isohume.outlets.site.lots.how_words import hows_of
from isohume.outlets.site.lots.models import LotRecord
from isohume.outlets.site.lots.shapes import shape_of_verdict
from isohume.outlets.site.people.pages import shown_to
from isohume.outlets.site.people.roles import EVERYONE
from isohume.outlets.site.records.proof_of_record import prove_record
from isohume.outlets.site.records.queries import records_of, story_of


@shown_to(EVERYONE)
def records(request: HttpRequest) -> HttpResponse:
    """Fifty records, found by id, digest or lot."""
    text = request.GET.get("text", "")
    rows, following = records_of(request.user.site, text, read_key(request.GET.get("before", "")))
    shown = [(row, shape_of_verdict(row.verdict, row.disposition, row.lot.state)) for row in rows]
    return page(request, "records/records.html", {"rows": shown, "following": following, "text": text})


@shown_to(EVERYONE)
def record(request: HttpRequest, record: str) -> HttpResponse:
    """What happened, can it be proved?"""
    found = find_record(request, record)
    story = story_of(found)
    proof = prove_record(found, [line.seq for line in story])
    content = proof.frozen.content if proof.frozen else None
    spec = line_of(content) if content else None
    context = {
        "record": found,
        "proof": proof,
        "content": content,
        "story": story,
        "signed": {signature.seq: signature for signature in proof.signatures},
        "line": screen_line(spec) if spec else None,
        "hows": hows_of(content) if content else {},
        "shape": shape_of_verdict(found.verdict, found.disposition, found.lot.state),
        "last": found.lot.records.order_by("pk").last(),
    }
    return page(request, "records/record.html", context)


@shown_to(EVERYONE)
def record_export(request: HttpRequest, record: str, what: str) -> HttpResponse:
    """The record as its exact bytes, its readings, or one of its input files."""
    found = find_record(request, record)
    kept = frozen(found.record)
    if what == "json":
        return _download(kept.body, f"{found.record}.json", "application/json")
    if what == "readings":
        return _download(readings_csv(kept.content).encode(), f"{found.record}-readings.csv", "text/csv; charset=utf-8")
    number = int(what)
    files = kept.content["inputs"]
    body = questions().file(files[number]["sha256"]) if number < len(files) else None
    if body is None:
        raise Http404
    name = files[number]["name"]
    kind = "text/csv; charset=utf-8" if name.endswith(".csv") else "application/toml"
    return _download(body, f"{found.record}-{name}", kind)


@shown_to(EVERYONE)
def verify(request: HttpRequest) -> HttpResponse:
    """Is the whole evidence as it was written? Read only; nothing is changed by asking."""
    asked = request.method == "POST"
    context = {
        "verification": verify_evidence(settings.DATA) if asked else None,
        "head": read_head(settings.DATA) if asked else None,
    }
    return page(request, "records/verify.html", context)


def find_record(request: HttpRequest, record: str) -> LotRecord:
    """A record of your plant by its id."""
    known = LotRecord.objects.select_related("lot__site", "lot__product", "opening_check__instrument", "by")
    return get_object_or_404(known, record=record, lot__site=request.user.site)


def _download(body: bytes, name: str, kind: str) -> HttpResponse:
    """A file to keep; its name comes from the record's id and the input's own plain name."""
    response = HttpResponse(body, content_type=kind)
    response.headers["Content-Disposition"] = f'attachment; filename="{name}"'
    return response
