"""User names and printed names: one person, one account; nothing shared, nothing anonymous."""

from __future__ import annotations

import re

from isohume.foundation.quantity.errors import InputError
from isohume.foundation.quantity.typed import read_words
from isohume.outlets.site.people.roles import Role

SHARED = frozenset(
    [
        "admin",
        "administrator",
        "analyst",
        "analysts",
        "anyone",
        "bench",
        "demo",
        "everyone",
        "group",
        "guest",
        "lab",
        "laboratory",
        "manager",
        "operator",
        "qa",
        "qc",
        "root",
        "shared",
        "shift",
        "team",
        "test",
        "user",
        "users",
    ]
)
_USERNAME = re.compile(r"[a-z][a-z0-9._-]{2,59}", re.ASCII)


def read_username(text: str) -> str:
    """A user name: small letters, and a person's, not a group's."""
    name = read_words(text, "username", 60).casefold()
    if not _USERNAME.fullmatch(name):
        raise InputError("username", text, "3 to 60 letters, digits, dots, dashes; the first one a letter")
    if name.rstrip("0123456789.-_") in SHARED:
        raise InputError("username", text, "a person's own name; accounts are not shared")
    return name


def read_printed_name(text: str) -> str:
    """The name that a signature prints."""
    name = read_words(text, "printed_name", 120)
    if len(name) < 3 or name.casefold() in SHARED:
        raise InputError("printed_name", text, "the person's full name as a signature prints it")
    return name


def read_roles(words: list[str]) -> list[str]:
    """At least one role, each a known one, in the order of the list."""
    unknown = set(words) - set(Role)
    if unknown or not words:
        raise InputError("roles", ", ".join(sorted(unknown)) or "none", f"at least one of {', '.join(Role)}")
    return [role.value for role in Role if role in words]
