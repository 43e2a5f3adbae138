"""Where bench agents bring their runs: entries in, the last one taken in out. No session, no cookie: a token."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from django.conf import settings
from django.core.exceptions import RequestDataTooBig
from django.http import HttpRequest, JsonResponse
from django.utils import timezone
from django.views.decorators.csrf import csrf_exempt
from django.views.decorators.http import require_GET, require_POST

from isohume.foundation.quantity.errors import InputError, shown
from isohume.outlets.site.captures.intake import AnotherSpool, Gap, NotKnown, last_taken, take
from isohume.outlets.site.captures.models import Agent
from isohume.outlets.site.captures.tokens import agent_of
from isohume.outlets.site.captures.wire import read_posted, read_spool
from isohume.outlets.site.people.pages import public

NO_TOKEN = "the token of a bench agent that is registered and not revoked"
Answer = Callable[[HttpRequest, Agent], JsonResponse]


def _with_token(request: HttpRequest, answer: Answer) -> JsonResponse:
    agent = agent_of(request.headers.get("Authorization", ""))
    if agent is None:
        return _unknown(NO_TOKEN)
    try:
        return answer(request, agent)
    except RequestDataTooBig:
        allowed = f"at most {settings.DATA_UPLOAD_MAX_MEMORY_SIZE} bytes: send fewer entries at once"
        return JsonResponse({"error": "too large", "allowed": allowed}, status=413)
    except NotKnown as error:
        return _unknown(str(error))
    except InputError as error:
        said = {"error": str(error), "field": error.field, "value": shown(error.value), "allowed": error.allowed}
        return JsonResponse(said if error.row is None else {**said, "n": error.row}, status=422)


@csrf_exempt
@require_POST
@public
def captured_in(request: HttpRequest) -> JsonResponse:
    """Take entries in, each once; the agent proves itself with its token."""
    return _with_token(request, _take)


@require_GET
@public
def captured_last(request: HttpRequest) -> JsonResponse:
    """The last entry of a spool that was taken in."""
    return _with_token(request, _last)


def _take(request: HttpRequest, agent: Agent) -> JsonResponse:
    posted = read_posted(request.body, request.headers.get("Idempotency-Key", ""))
    try:
        spool = take(agent, posted, timezone.now())
        chain = {"chain": spool.chain} if spool.chain else {}
        return JsonResponse({"spool": spool.key, "last": spool.last, **chain})
    except Gap as gap:
        return JsonResponse({"last": gap.last, "error": str(gap)}, status=409)
    except AnotherSpool as error:  # without a number: there is none from which this spool could go on
        return JsonResponse({"another_spool": True, "error": str(error)}, status=409)


def _last(request: HttpRequest, agent: Agent) -> JsonResponse:
    return JsonResponse({"last": last_taken(agent, read_spool(request.GET.get("spool", "")))})


def _unknown(allowed: str) -> JsonResponse:
    answer: dict[str, Any] = {"error": "not known here", "allowed": allowed}
    return JsonResponse(answer, status=401, headers={"WWW-Authenticate": "Bearer"})
