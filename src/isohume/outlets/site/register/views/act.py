"""A change has a page of its own: the question, the fields, and why it may not be done if so."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from typing import Any, Literal

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect

from isohume.outlets.site.config.page import Tried, attempt, by, page
from isohume.outlets.site.ledger.actions import Action, check
from isohume.outlets.site.people.models import Person

Kind = Literal["text", "date", "moment", "select", "radios", "checkboxes"]


@dataclass(frozen=True)
class Ask:
    """One field of a form: what it is called, what it starts with, what is allowed in a word."""

    name: str
    label: str
    kind: Kind = "text"
    start: str = ""
    hint: str = ""
    unit: str = ""
    mask: str = ""
    required: bool = False
    options: Sequence[tuple[str, str] | str] = ()
    blank: str = ""
    decimal: bool = False


@dataclass(frozen=True)
class ActForm:
    """A change as a page asks for it.

    make: from the fields as typed to the action. after: from its result to the page that shows it.
    """

    question: str
    says: str
    button: str
    back: str
    back_text: str
    make: Callable[[dict[str, str]], Action[Any]]
    after: Callable[[Any], str]
    asks: Sequence[Ask] = ()
    note: str = ""
    danger: bool = False
    advice: Sequence[str] = field(default_factory=tuple)


@dataclass(frozen=True)
class Offered:
    """A change as the page of its object offers it: a link, or who it is for."""

    text: str
    url: str
    allowed: bool
    reason: str


def offered(person: Person, text: str, url: str, action: type[Action[Any]]) -> Offered:
    """The change for this person: an action not of one's role is named with whose it is."""
    if person.holds(*action.roles):
        return Offered(text, url, True, "")
    return Offered(text, url, False, f"{text}: this is for {', '.join(sorted(role.value for role in action.roles))}.")


def act_page(request: HttpRequest, form: ActForm) -> HttpResponse:
    """Show the form, or perform what it asks for; a refusal and a bad field come back with what was typed."""
    tried = None
    if request.method == "POST":
        tried = attempt(request, form.make)
        if tried.done:
            return redirect(form.after(tried.result))
    verdict = check(form.make({}), by(request))  # what stands against it before anything is typed
    context = {"form": form, "verdict": verdict, "picked": _picked(request, form, tried)}
    return page(request, "register/act.html", context, tried)


def _picked(request: HttpRequest, form: ActForm, tried: Tried | None) -> dict[str, list[str]]:
    """The boxes that were ticked."""
    boxes = [ask for ask in form.asks if ask.kind == "checkboxes"]
    return {ask.name: request.POST.getlist(ask.name) if tried else [ask.start] for ask in boxes}
