"""A page and what was tried on it: the one way a view answers."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone

from isohume.foundation.quantity.errors import InputError, shown
from isohume.outlets.site.ledger.actions import Action, By, Refused, perform
from isohume.outlets.site.ledger.trail import last_line
from isohume.outlets.site.outbox.entry import OF_THE_OUTBOX, entry_of

NOT_TYPED = frozenset({"csrfmiddlewaretoken", "password"}) | OF_THE_OUTBOX


@dataclass(slots=True)
class Tried:
    """What came of a form: done with a result, or errors by field, refusals, and what was typed."""

    done: bool = False
    result: Any = None
    errors: dict[str, str] = field(default_factory=dict)
    reasons: list[str] = field(default_factory=list)
    typed: dict[str, str] = field(default_factory=dict)

    def error(self, name: str) -> str:
        """The error that stands at a field."""
        return self.errors.get(name, "")

    def value(self, name: str, otherwise: object = "") -> str:
        """What was typed into a field, or what it starts with."""
        return self.typed.get(name, "" if otherwise is None else str(otherwise))


def page(
    request: HttpRequest, template: str, context: dict[str, Any] | None = None, tried: Tried | None = None, **more: Any
) -> HttpResponse:
    """A page with what every template may use: me, site, now, and what was tried."""
    me = request.user if request.user.is_authenticated else None
    status = more.pop("status", 200 if tried is None or tried.done or not tried.typed else 422)
    shared = {"me": me, "site": me.site if me else None, "now": timezone.now(), "tried": tried or Tried()}
    shared["ledger_at"] = last_line() if me else 0  # what comes after it is news to whoever has the page open
    return render(request, template, {**shared, **(context or {}), **more}, status=status)


def attempt(request: HttpRequest, make: Callable[[dict[str, str]], Action[Any]]) -> Tried:
    """Perform the action that a posted form asks for; refusals and bad fields come back with what was typed.

    make: from the form's fields, as typed, to the action.
    """
    typed = {name: value for name, value in request.POST.items() if name not in NOT_TYPED}
    try:
        tried = Tried(done=True, result=perform(make(request.POST.dict()), by(request)))
    except InputError as error:
        said = f"read {shown(error.value)}; allowed: {error.allowed}"
        tried = Tried(errors={error.field: said}, typed=typed or {"": ""})
    except Refused as refused:
        tried = Tried(reasons=list(refused.reasons), typed=typed or {"": ""})
    request.tried = tried  # an entry that waited on a tablet is answered from it
    return tried


def by(request: HttpRequest, at: datetime | None = None) -> By:
    """Who acts, and when: the server's own time."""
    entry = entry_of(request.user.pk, request.path, request.POST) if request.method == "POST" else None
    return By(request.user, at or timezone.now(), entry)
