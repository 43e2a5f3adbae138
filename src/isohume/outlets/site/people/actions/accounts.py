"""Accounts: invite a person, change roles, deactivate, unlock, set a password."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import timedelta

from axes.utils import reset

from isohume.foundation.quantity.errors import InputError
from isohume.foundation.quantity.typed import read_words
from isohume.outlets.site.ledger.actions import Action, By, Done, Refused
from isohume.outlets.site.ledger.notes import moments_of
from isohume.outlets.site.people.models import Person, Site
from isohume.outlets.site.people.names import read_printed_name, read_roles, read_username
from isohume.outlets.site.people.proof import Proof
from isohume.outlets.site.people.roles import ADMINISTRATOR, EVERYONE, REVIEWERS
from isohume.outlets.site.people.setup import new_token, open_invitation, read_password

WITNESS_SINCE = timedelta(hours=24)
"""How long ago a witness has signed in for the first time: nobody makes up a witness on the spot."""


@dataclass
class InvitePerson(Action[tuple[Person, str]]):
    """A new account without a password, and the one-time link's token with which its owner sets one."""

    name = "person_invited"
    said = "Invited a person"
    roles = frozenset({ADMINISTRATOR})

    at_site: Site
    username: str
    printed_name: str
    holds: list[str] = field(default_factory=list)

    @property
    def site(self) -> Site:
        """The plant the person will belong to."""
        return self.at_site

    def change(self, by: By) -> Done[tuple[Person, str]]:
        """A user name is one person's for ever, also after the account was deactivated."""
        username = read_username(self.username)
        if Person.objects.filter(username=username).exists():
            raise InputError("username", username, "a name that nobody had before; a user name is never given again")
        person = Person(
            site=self.at_site,
            username=username,
            printed_name=read_printed_name(self.printed_name),
            roles=read_roles(self.holds),
        )
        person.set_unusable_password()
        person.save()
        details = {"username": username, "printed_name": person.printed_name, "roles": person.roles}
        return Done((person, new_token(person, by.at)), person.ref, details=details)


@dataclass
class InviteAgain(Action[str]):
    """A new link for somebody who lost the password: two people are needed, so that nobody signs as another."""

    name = "person_invited_again"
    said = "Gave a new set-up link"
    roles = frozenset({ADMINISTRATOR})

    person: Person
    witness: Person | None
    witness_proof: Proof | None
    reason: str

    @property
    def site(self) -> Site:
        """The person's plant."""
        return self.person.site

    def refusals(self, by: By) -> list[str]:
        """The witness is another person who answers for records here, known for a day, proved by password."""
        witness, proof = self.witness, self.witness_proof
        if witness is None or proof is None or not proof.holds_for(witness, by.at):
            return ["A second person must give name and password."]
        if witness.pk in (by.person.pk, self.person.pk) or witness.site_id != self.person.site_id:
            return ["The second person is somebody else of this plant: not you, and not the person of the account."]
        if not witness.holds(*REVIEWERS):
            return [f"The second person is a {' or a '.join(sorted(REVIEWERS))}."]
        if not any(by.at - at >= WITNESS_SINCE for at in moments_of("signed_in", witness.ref)[:1]):
            return ["The second person has signed in here for the first time at least a day ago."]
        return []

    def change(self, by: By) -> Done[str]:
        """The old password ends at once."""
        reason = read_words(self.reason, "reason", 300)
        if not reason:
            raise InputError("reason", "nothing", "why a new link is needed")
        self.person.set_unusable_password()
        self.person.save(update_fields=["password"])
        reset(username=self.person.username)
        details = {"witness": self.witness.username}  # type: ignore[union-attr]
        return Done(new_token(self.person, by.at), self.person.ref, [self.witness.ref], details, reason)  # type: ignore[union-attr]


@dataclass
class SetPassword(Action[Person]):
    """The owner of an account sets its password with the one-time link."""

    name = "password_set"
    said = "Set a password"
    roles = EVERYONE

    token: str
    new_password: str
    again: str

    @property
    def site(self) -> None:
        """The person's own plant."""
        return

    def change(self, by: By) -> Done[Person]:
        """The link is used up; nothing of the password is kept but its digest."""
        invitation = open_invitation(self.token, by.at)
        if invitation is None or invitation.person_id != by.person.pk:
            raise Refused("This link was used, or has expired: ask your administrator for another.")
        by.person.set_password(read_password(self.new_password, self.again, by.person))
        by.person.save(update_fields=["password"])
        invitation.used_at = by.at
        invitation.save(update_fields=["used_at"])
        return Done(by.person, by.person.ref)


@dataclass
class ChangePassword(Action[Person]):
    """A signed-in person changes the password, proving the old one."""

    name = "password_changed"
    said = "Changed the password"
    roles = EVERYONE

    proof: Proof | None
    new_password: str
    again: str

    @property
    def site(self) -> None:
        """The person's own plant."""
        return

    def change(self, by: By) -> Done[Person]:
        """Only with the password that is in force."""
        if self.proof is None or not self.proof.holds_for(by.person, by.at):
            raise InputError("password", "another password", "the password that is in force")
        by.person.set_password(read_password(self.new_password, self.again, by.person))
        by.person.save(update_fields=["password"])
        return Done(by.person, by.person.ref)


@dataclass
class ChangeRoles(Action[Person]):
    """Which roles a person holds."""

    name = "roles_changed"
    said = "Changed the roles"
    roles = frozenset({ADMINISTRATOR})

    person: Person
    holds: list[str]
    reason: str

    @property
    def site(self) -> Site:
        """The person's plant."""
        return self.person.site

    def refusals(self, by: By) -> list[str]:
        """Nobody widens or narrows the own roles."""
        return ["Nobody changes the own roles."] if self.person.pk == by.person.pk else []

    def change(self, by: By) -> Done[Person]:
        """Old and new are kept, with the reason."""
        reason = read_words(self.reason, "reason", 300)
        if not reason:
            raise InputError("reason", "nothing", "why the roles change")
        old, self.person.roles = self.person.roles, read_roles(self.holds)
        self.person.save(update_fields=["roles"])
        return Done(self.person, self.person.ref, details={"roles": [old, self.person.roles]}, reason=reason)


@dataclass
class SetActive(Action[Person]):
    """Deactivate an account, or let it in again; it is never deleted."""

    name = "account_active_changed"
    said = "Changed whether the account is active"
    roles = frozenset({ADMINISTRATOR})

    person: Person
    active: bool
    reason: str

    @property
    def site(self) -> Site:
        """The person's plant."""
        return self.person.site

    def refusals(self, by: By) -> list[str]:
        """An administrator cannot lock the own door."""
        return ["Nobody deactivates the own account."] if self.person.pk == by.person.pk else []

    def change(self, by: By) -> Done[Person]:
        """A deactivated person is signed out at the next request."""
        reason = read_words(self.reason, "reason", 300)
        if not reason:
            raise InputError("reason", "nothing", "why the account changes")
        old, self.person.is_active = self.person.is_active, self.active
        self.person.save(update_fields=["is_active"])
        return Done(self.person, self.person.ref, details={"active": [old, self.active]}, reason=reason)


@dataclass
class Unlock(Action[Person]):
    """Let a person in again who was locked out after failed attempts."""

    name = "person_unlocked"
    said = "Unlocked the account"
    roles = frozenset({ADMINISTRATOR})

    person: Person

    @property
    def site(self) -> Site:
        """The person's plant."""
        return self.person.site

    def change(self, by: By) -> Done[Person]:
        """The count of failed attempts starts anew."""
        reset(username=self.person.username)
        return Done(self.person, self.person.ref)
