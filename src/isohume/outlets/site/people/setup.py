"""The first person of an installation comes in through a one-time link; there is no default password anywhere."""

from __future__ import annotations

import hashlib
import re
import secrets
from datetime import datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo, available_timezones

from django.contrib.auth.password_validation import validate_password
from django.core.exceptions import ValidationError
from django.utils import timezone

from isohume.foundation.quantity.errors import InputError
from isohume.foundation.quantity.typed import read_words
from isohume.outlets.site.ledger.notes import note
from isohume.outlets.site.ledger.writing import writing
from isohume.outlets.site.people.models import Invitation, Person, Site
from isohume.outlets.site.people.names import read_printed_name, read_roles, read_username
from isohume.outlets.site.people.roles import ADMINISTRATOR

LINK_HOLDS = timedelta(days=3)


def digest_of(token: str) -> str:
    """What is kept of a link's token."""
    return hashlib.sha256(token.encode()).hexdigest()


def new_token(person: Person | None, now: datetime) -> str:
    """A one-time token; earlier unused ones of the same person end."""
    Invitation.objects.filter(person=person, used_at=None).update(expires_at=now)
    token = secrets.token_urlsafe(24)
    Invitation.objects.create(person=person, token_digest=digest_of(token), expires_at=now + LINK_HOLDS)
    return token


def setup_link(address: str) -> str | None:
    """The link with which the first administrator sets the plant up; None where somebody can sign in already.

    address: the site's own address, such as http://127.0.0.1:8765.
    """
    if Person.objects.filter(is_active=True).exists():
        return None
    return f"{address}/set-up/{new_token(None, timezone.now())}/"


def open_invitation(token: str, now: datetime) -> Invitation | None:
    """The invitation of a token that is neither used nor expired."""
    return Invitation.objects.filter(token_digest=digest_of(token), used_at=None, expires_at__gt=now).first()


def read_password(password: str, again: str, person: Person) -> str:
    """A password that may be set: long, not a common one, typed alike twice."""
    if password != again:
        raise InputError("again", "another text", "the same password once more")
    try:
        validate_password(password, person)
    except ValidationError as error:
        raise InputError("new_password", "a password", " ".join(error.messages)) from None
    return password


def set_up(invitation: Invitation, form: dict[str, Any], roles: list[str], at: datetime) -> Person:
    """Make the plant and its first administrator, and use the link up.

    form: name, laboratory, address, time_zone, username, printed_name, new_password, again.
    """
    plant = _read_plant(form)
    person = Person(
        site=plant,
        username=read_username(form.get("username", "")),
        printed_name=read_printed_name(form.get("printed_name", "")),
        roles=read_roles(sorted({*roles, ADMINISTRATOR.value})),
    )
    person.set_password(read_password(form.get("new_password", ""), form.get("again", ""), person))
    with writing(at):
        used = Invitation.objects.filter(pk=invitation.pk, used_at=None).update(used_at=at)
        if not used or Person.objects.filter(is_active=True).exists():
            raise InputError("link", "a used link", "a link that was not used yet")
        plant.save()
        person.site = plant
        person.save()
        note("site_set_up", plant.ref, at, person.printed_name, administrator=person.username, plant=plant.name)
    return person


def _read_plant(form: dict[str, Any]) -> Site:
    name = read_words(form.get("name", ""), "name", 120)
    if not name:
        raise InputError("name", "nothing", "the plant's name")
    zone = form.get("time_zone", "")
    if zone not in available_timezones():
        raise InputError("time_zone", zone, "a time zone such as Europe/London")
    ZoneInfo(zone)
    return Site(
        key=re.sub(r"[^a-z0-9]+", "-", name.casefold()).strip("-")[:40] or "plant",
        name=name,
        laboratory=read_words(form.get("laboratory", ""), "laboratory", 120),
        address=read_words(form.get("address", ""), "address", 200),
        time_zone=zone,
    )
