"""What is answered to a locked account."""

from __future__ import annotations

from typing import Any

from django.http import HttpRequest, HttpResponse


def page_as_it_is(request: HttpRequest, response: HttpResponse, credentials: Any = None) -> HttpResponse:
    """The page's own answer, which says that the account is locked, for how long, and who unlocks it."""
    return response
