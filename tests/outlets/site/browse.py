"""What the tests of pages share: signing in without the browser's form."""

from __future__ import annotations

from django.test import Client

from isohume.outlets.site.people.models import Person

BACKEND = "django.contrib.auth.backends.ModelBackend"


def sign_in(client: Client, person: Person) -> None:
    """Sign a person in."""
    client.force_login(person, BACKEND)
