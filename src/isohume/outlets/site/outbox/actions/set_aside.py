"""Set an entry aside that the server refused: it is kept in the ledger with its fields and the reason."""

from __future__ import annotations

import json
from dataclasses import dataclass

from isohume.foundation.quantity.errors import InputError
from isohume.foundation.quantity.typed import read_words
from isohume.outlets.site.ledger.actions import Action, By, Done
from isohume.outlets.site.people.models import Site
from isohume.outlets.site.people.roles import BENCH

LONGEST = 8000


@dataclass
class SetEntryAside(Action[str]):
    """Nothing that was entered disappears: what cannot be kept as it was entered is on record as set aside."""

    name = "entry_set_aside"
    said = "Set an entry of the bench aside"
    roles = BENCH

    at_site: Site
    words: str  # what it was, such as "Run of SB-1 / A / 1"
    typed_at: str
    fields: str  # as JSON, name to value as typed
    refused: str  # why the server did not keep it
    reason: str

    @property
    def site(self) -> Site:
        """The plant of the bench."""
        return self.at_site

    def change(self, by: By) -> Done[str]:
        """Keep what was typed, when, why it was refused and why it is given up."""
        reason = read_words(self.reason, "reason", 300)
        if not reason:
            raise InputError("reason", "nothing", "why this entry is not sent again, such as keyed on another tablet")
        details = {
            "words": read_words(self.words, "words", 200),
            "typed_at": read_words(self.typed_at, "typed_at", 40),
            "fields": self._fields(),
            "refused": read_words(" ".join(self.refused.split()), "refused", 2000),
        }
        return Done(details["words"], self.at_site.ref, [by.person.ref], details, reason)

    def _fields(self) -> str:
        if len(self.fields) > LONGEST:
            raise InputError("fields", f"{len(self.fields)} characters", f"at most {LONGEST}")
        try:
            given = json.loads(self.fields)
        except ValueError:
            given = None
        if not isinstance(given, dict) or not all(isinstance(value, str) for value in given.values()):
            raise InputError("fields", self.fields[:80], "names and what was typed into them")
        return "; ".join(f"{name}: {value}" for name, value in sorted(given.items()) if value)
