"""Answers an entry that waited in words the tablet can keep: kept, refused with reasons, or not its time yet."""

from __future__ import annotations

from collections.abc import Callable

from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import redirect

from isohume.outlets.site.ledger.actions import KeptBefore
from isohume.outlets.site.ledger.views import page_of_ref

WAITED = "X-Isohume-Outbox"  # the person an entry belongs to, by key: said by the tablet with each entry that waited
ANOTHER_PERSON = "It belongs to another person and waits until that person is signed in here."


class OutboxMiddleware:
    """For other requests it does nothing, but for an entry that comes twice: its first answer is the answer."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        person = request.headers.get(WAITED)
        if person is None or request.method != "POST":
            return self.get_response(request)
        if not request.user.is_authenticated or str(request.user.pk) != person:
            return JsonResponse({"state": "waits", "reasons": [ANOTHER_PERSON]})
        return _in_words(request, self.get_response(request))

    def process_exception(self, request: HttpRequest, exception: Exception) -> HttpResponse | None:
        """An entry that was kept before leads to what it made."""
        return redirect(page_of_ref(exception.ref)) if isinstance(exception, KeptBefore) else None


def _in_words(request: HttpRequest, response: HttpResponse) -> HttpResponse:
    tried = getattr(request, "tried", None)
    if tried is not None and not tried.done:
        errors = [f"{name.replace('_', ' ')}: {error}" for name, error in tried.errors.items()]
        return JsonResponse({"state": "refused", "reasons": [*tried.reasons, *errors]})
    if tried is not None or 200 <= response.status_code < 300:
        return JsonResponse({"state": "kept", "page": response.headers.get("Location", "")})
    if response.status_code in (301, 302, 303) and not _to_sign_in(response):
        return JsonResponse({"state": "kept", "page": response.headers["Location"]})
    if response.status_code in (404, 410):
        return JsonResponse({"state": "refused", "reasons": ["What it was entered for is not there any more."]})
    return JsonResponse({"state": "waits", "reasons": [f"The server answered {response.status_code}."]})


def _to_sign_in(response: HttpResponse) -> bool:
    return "next=" in response.headers.get("Location", "")
