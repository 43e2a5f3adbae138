"""Who asks for a stream: the session cookie, checked as the pages check it, by reading alone."""

from __future__ import annotations

import sqlite3
import time
from datetime import UTC, datetime
from functools import cache
from typing import Any

from django.contrib.sessions.backends.db import SessionStore
from django.utils.crypto import constant_time_compare, salted_hmac

SEEN, LOCKED = "seen", "locked"  # as the pages' middleware keeps them in the session
USER_ID, USER_HASH = "_auth_user_id", "_auth_user_hash"
HASH_SALT = "django.contrib.auth.models.AbstractBaseUser.get_session_auth_hash"
SESSION = "SELECT session_data FROM django_session WHERE session_key = ? AND expire_date > ?"
PERSON = """SELECT person.password, site.idle_minutes, site.id FROM people_person AS person
JOIN people_site AS site ON site.id = person.site_id WHERE person.id = ? AND person.is_active"""


def signed_in(connection: sqlite3.Connection, session_key: str) -> bool:
    """Whether a session is that of an active person, in time, not locked, and older than no change of password."""
    return site_of(connection, session_key) is not None


def site_of(connection: sqlite3.Connection, session_key: str) -> int | None:
    """The plant of the person whose session it is; None where nobody is signed in with it."""
    now = datetime.now(UTC)
    row = connection.execute(SESSION, (session_key, f"{now:%Y-%m-%d %H:%M:%S}")).fetchone()
    if row is None:
        return None
    held: dict[str, Any] = _store().decode(row[0])
    if held.get(LOCKED) or USER_ID not in held:
        return None
    person = connection.execute(PERSON, (held[USER_ID],)).fetchone()
    if person is None:
        return None
    password, idle_minutes, site = person
    if time.time() - held.get(SEEN, now.timestamp()) > 60 * idle_minutes:
        return None
    wanted = salted_hmac(HASH_SALT, password, algorithm="sha256").hexdigest()
    return int(site) if constant_time_compare(held.get(USER_HASH, ""), wanted) else None


@cache
def _store() -> SessionStore:
    return SessionStore()
