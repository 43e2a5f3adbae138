"""Write a note from one shift to the next."""

from __future__ import annotations

from dataclasses import dataclass

from isohume.foundation.quantity.errors import InputError
from isohume.foundation.quantity.typed import read_words
from isohume.outlets.site.bench.models import HandOver
from isohume.outlets.site.ledger.actions import Action, By, Done
from isohume.outlets.site.people.models import Site
from isohume.outlets.site.people.roles import ANALYST, DEVELOPER, MANAGER, RELEASE_OFFICER


@dataclass
class WriteHandOver(Action[HandOver]):
    """What the next shift must know; it stands on Today until the next note."""

    name = "hand_over_written"
    said = "Wrote a hand-over note"
    roles = frozenset({ANALYST, MANAGER, RELEASE_OFFICER, DEVELOPER})

    at_site: Site
    text: str

    @property
    def site(self) -> Site:
        """The plant of the shift."""
        return self.at_site

    def change(self, by: By) -> Done[HandOver]:
        """Keep the note; line ends become spaces."""
        text = read_words(" ".join(str(self.text).split()), "text", 1000)
        if not text:
            raise InputError("text", "nothing", "what the next shift must know")
        note = HandOver.objects.create(site=self.at_site, text=text, at=by.at, by=by.person)
        return Done(note, note.ref, [self.at_site.ref], {"text": text})
