"""Who works at plant A (invented people)."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from isohume.outlets.site.ledger.actions import By, perform
from isohume.outlets.site.people.actions.accounts import InvitePerson, SetPassword
from isohume.outlets.site.people.models import Invitation, Person, Site
from isohume.outlets.site.people.setup import digest_of, new_token, set_up

PEOPLE = (
    ("rhale", "Ruth Okonjo-Hale", ["analyst"]),
    ("tlisle", "Tomas Brandt-Lisle", ["analyst"]),
    ("mfarrow", "Mira Farrow-Quist", ["manager"]),
    ("dpell", "Dele Pellingford", ["release officer"]),
    ("jsorrel", "Jun Sorrel-Abara", ["developer"]),
    ("avance", "Ada Vance-Tolliver", ["auditor"]),
)
ADMINISTRATOR = ("kmoor", "Kit Moorcroft-Ede")


@dataclass(frozen=True)
class Cast:
    """The people by what they do here."""

    administrator: Person
    analysts: tuple[Person, Person]
    manager: Person
    officer: Person
    developer: Person
    auditor: Person

    @property
    def site(self) -> Site:
        """Their plant."""
        return self.manager.site


def make_cast(at: datetime, password: str) -> Cast:
    """The administrator sets the plant up and invites the others; each sets the password with the link."""
    invitation = Invitation.objects.get(token_digest=digest_of(new_token(None, at)))
    username, printed_name = ADMINISTRATOR
    form = {
        "name": "Harrow Lane Oat Works",
        "laboratory": "Bench room 2",
        "address": "Invented plant; demonstration data",
        "time_zone": "Europe/London",
        "username": username,
        "printed_name": printed_name,
        "new_password": password,
        "again": password,
    }
    administrator = set_up(invitation, form, [], at)
    invited = [_invited(administrator, *person, at=at, password=password) for person in PEOPLE]
    one, other, manager, officer, developer, auditor = invited
    return Cast(administrator, (one, other), manager, officer, developer, auditor)


def _invited(by: Person, username: str, printed_name: str, roles: list[str], *, at: datetime, password: str) -> Person:
    person, token = perform(InvitePerson(by.site, username, printed_name, roles), By(by, at))
    return perform(SetPassword(token, password, password), By(person, at))
