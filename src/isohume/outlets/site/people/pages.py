"""Who may see a page: said at the page itself, and held by the middleware."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import TypeVar

from django.http import HttpRequest, HttpResponse

from isohume.outlets.site.config.page import page
from isohume.outlets.site.people.roles import Role

View = TypeVar("View", bound=Callable[..., HttpResponse])
PUBLIC = "anybody"


def shown_to(roles: Iterable[Role]) -> Callable[[View], View]:
    """Marks a page with the roles that may see it."""

    def mark(view: View) -> View:
        view.roles = frozenset(roles)  # type: ignore[attr-defined]
        return view

    return mark


def public(view: View) -> View:
    """Marks a page that anybody may see: signing in and setting up."""
    view.roles = PUBLIC  # type: ignore[attr-defined]
    return view


def while_locked(view: View) -> View:
    """Marks a page that a locked session may see."""
    view.while_locked = True  # type: ignore[attr-defined]
    return view


def refuse_page(request: HttpRequest, roles: Iterable[Role]) -> HttpResponse:
    """The page that says why another page is not shown."""
    named = ", ".join(sorted(role.value for role in roles))
    reasons = [f"This page is for: {named}.", f"You are signed in as {', '.join(sorted(request.user.roles))}."]
    return page(request, "people/refused.html", {"reasons": reasons}, status=403)
