"""A stream is for whoever the pages let in: the same session, read without Django's models."""

from __future__ import annotations

import time
from collections.abc import Callable
from contextlib import closing
from datetime import timedelta
from pathlib import Path

import pytest
from django.conf import settings
from django.contrib.sessions.models import Session
from django.test import Client
from django.utils import timezone
from django.utils.crypto import get_random_string

from isohume.outlets.site.live import session, streaming
from isohume.outlets.site.live.database import opened
from isohume.outlets.site.live.session import signed_in
from isohume.outlets.site.people import middleware
from isohume.outlets.site.people.models import Person, Site

BACKEND = "django.contrib.auth.backends.ModelBackend"
Asked = Callable[[], bool]


@pytest.fixture
def ada(site_db: Path) -> Person:
    """An analyst of a plant."""
    plant = Site.objects.create(key="harrow-lane", name="Harrow Lane Oat Works", idle_minutes=15)
    person = Person(site=plant, username="ada", printed_name="Ada", roles=["analyst"])
    person.set_password(get_random_string(20))
    person.save()
    return person


@pytest.fixture
def may_read(ada: Person, client: Client, site_db: Path) -> Asked:
    """`may_read()`: whether Ada's browser would be given a stream now."""
    client.force_login(ada, BACKEND)
    key = client.cookies[streaming.COOKIE].value

    def asked() -> bool:
        with closing(opened(site_db / "isohume.sqlite3")) as connection:
            return signed_in(connection, key)

    return asked


def test_who_is_signed_in_may_read(may_read: Asked) -> None:
    assert may_read()


def test_nobody_else_may(may_read: Asked, site_db: Path) -> None:
    with closing(opened(site_db / "isohume.sqlite3")) as connection:
        for key in ("", "x", get_random_string(32), "' OR 1=1 --", "\0"):
            assert not signed_in(connection, key)


def test_signing_out_ends_it(may_read: Asked, client: Client) -> None:
    client.logout()
    assert not may_read()


def test_an_expired_session_is_none(may_read: Asked) -> None:
    Session.objects.update(expire_date=timezone.now() - timedelta(seconds=2))
    assert not may_read()
    Session.objects.update(expire_date=timezone.now() + timedelta(seconds=60))
    assert may_read()


def test_an_account_that_was_closed_is_none(may_read: Asked, ada: Person) -> None:
    Person.objects.filter(pk=ada.pk).update(is_active=False)
    assert not may_read()


def test_a_new_password_ends_older_sessions(may_read: Asked, ada: Person) -> None:
    ada.set_password(get_random_string(20))
    ada.save()
    assert not may_read()


@pytest.mark.parametrize(
    ("locked", "seen_min_ago", "allowed"), [(True, 0, False), (False, 16, False), (False, 13, True)]
)
def test_a_locked_screen_is_told_nothing(
    may_read: Asked, client: Client, locked: bool, seen_min_ago: int, allowed: bool
) -> None:
    browser = client.session
    browser.update({session.LOCKED: locked, session.SEEN: time.time() - 60 * seen_min_ago})
    browser.save()
    assert may_read() is allowed


def test_a_session_signed_with_another_key_is_none(may_read: Asked, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(settings, "SECRET_KEY", get_random_string(50))
    assert not may_read()


def test_the_same_names_as_the_pages() -> None:
    assert (session.SEEN, session.LOCKED) == (middleware.SEEN, middleware.LOCKED)
    assert settings.SESSION_COOKIE_NAME == streaming.COOKIE
    assert settings.SESSION_ENGINE == "django.contrib.sessions.backends.db"
    assert (Person._meta.db_table, Site._meta.db_table) == ("people_person", "people_site")
