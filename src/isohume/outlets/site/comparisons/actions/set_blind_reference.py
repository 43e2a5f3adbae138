"""Set a blind reference for a person: the value is known to who sets it, and to the ledger as a digest only."""

from __future__ import annotations

import secrets
from collections.abc import Iterable
from dataclasses import dataclass
from hashlib import sha256

from isohume.foundation.quantity.errors import InputError
from isohume.outlets.site.comparisons.actions.fields import a_w_text, small_number
from isohume.outlets.site.comparisons.models import BlindReference
from isohume.outlets.site.config.keys import read_key
from isohume.outlets.site.ledger.actions import Action, By, Done
from isohume.outlets.site.people.models import Person, Site
from isohume.outlets.site.people.roles import ANALYST, MANAGER
from isohume.outlets.site.register.actions.fields import needed_code, needed_words, refuse_taken
from isohume.outlets.site.register.models import Method


def committed(expected: str, salt: str) -> str:
    """The digest that binds a hidden value: it can be checked once the value is shown, and not guessed before."""
    return sha256(f"{salt}:{expected}".encode()).hexdigest()


@dataclass
class SetBlindReference(Action[BlindReference]):
    """Who reads it is another person; the label says nothing of the value."""

    name = "blind_reference_set"
    said = "Set a blind reference"
    roles = frozenset({MANAGER})

    at_site: Site
    label: str
    person: str
    method: str
    expected: str
    limit: str
    value_source: str

    @property
    def site(self) -> Site:
        """The plant."""
        return self.at_site

    def refusals(self, by: By) -> Iterable[str]:
        """Nobody sets one for oneself."""
        if read_key(self.person) == by.person.pk:
            yield "Nobody sets a blind reference for oneself: another manager does."

    def change(self, by: By) -> Done[BlindReference]:
        """Keep the value hidden; the ledger gets its digest now."""
        label = needed_code(self.label, "label", 60, "what stands on the bottle; it must not give the value away")
        refuse_taken(BlindReference.objects.filter(site=self.at_site), "label", label, "label", "at this plant")
        person = Person.objects.active(self.at_site).filter(pk=read_key(self.person)).first()
        if person is None or not person.holds(ANALYST, MANAGER):
            raise InputError("person", self.person or "nothing", "an analyst or manager with an active account")
        method = Method.objects.filter(site=self.at_site, pk=read_key(self.method)).first()
        if method is None:
            raise InputError("method", self.method or "nothing", "a method of the register")
        expected, salt = a_w_text(self.expected, "expected"), secrets.token_hex(16)
        what = "where the value comes from: a certificate, a published table, a check"
        kept = BlindReference.objects.create(
            site=self.at_site,
            label=label,
            method=method,
            person=person,
            expected=expected,
            limit=small_number(self.limit, "limit"),
            value_source=needed_words(self.value_source, "value_source", 200, what),
            salt=salt,
            commitment=committed(expected, salt),
            set_at=by.at,
            set_by=by.person,
        )
        details = {"label": label, "person": person.username, "method": method.name, "limit": kept.limit}
        return Done(kept, kept.ref, [person.ref, method.ref], {**details, "commitment": kept.commitment})
