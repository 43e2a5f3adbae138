"""Proof that the person at the keyboard is who signs: the password given again, just now."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

from django.contrib.auth import authenticate
from django.http import HttpRequest
from django.utils import timezone

from isohume.outlets.site.people.models import Person

HOLDS = timedelta(minutes=1)


@dataclass(frozen=True, slots=True)
class Proof:
    """Who proved to be themselves, and when. Made by `prove` and `prove_by_password` only."""

    person_pk: int
    at: datetime

    def holds_for(self, person: Person, now: datetime) -> bool:
        """Whether it is this person's, and fresh."""
        return self.person_pk == person.pk and timedelta(0) <= now - self.at <= HOLDS


def prove(request: HttpRequest, password: str) -> Proof | None:
    """The proof of the signed-in person; a wrong password counts towards the lock-out, and gives None."""
    person = authenticate(request, username=request.user.username, password=password)
    return Proof(person.pk, timezone.now()) if person is not None and person.pk == request.user.pk else None


def prove_by_password(person: Person, password: str, now: datetime) -> Proof | None:
    """The proof where no browser is involved (the demonstration, tests)."""
    return Proof(person.pk, now) if person.check_password(password) else None
