"""The pages for what went wrong."""

from __future__ import annotations

from typing import Any

from django.http import HttpRequest, HttpResponse

from isohume.outlets.site.config.page import page
from isohume.outlets.site.people.pages import public


@public
def not_found(request: HttpRequest, exception: Any = None) -> HttpResponse:
    """Nothing here, or nothing of your plant."""
    return page(request, "people/error.html", {"said": "There is nothing at this address in your plant."}, status=404)


@public
def forbidden(request: HttpRequest, exception: Any = None) -> HttpResponse:
    """Refused."""
    return page(request, "people/error.html", {"said": "This is not for you to see or do."}, status=403)


@public
def no_token(request: HttpRequest, reason: str = "") -> HttpResponse:
    """A form without the site's own token: another site's, or of a page that was open before signing in anew."""
    said = "Nothing was saved: this form did not come from a page that is open now. Open the page again and repeat it."
    return page(request, "people/error.html", {"said": said}, status=403)


@public
def fault(request: HttpRequest) -> HttpResponse:
    """A fault of ours; nothing half saved."""
    said = "Something went wrong on our side; nothing was half saved. Please report it with the time shown."
    return page(request, "people/error.html", {"said": said}, status=500)
