"""Choose how one is told that a run has settled or gone wrong."""

from __future__ import annotations

from dataclasses import dataclass

from isohume.outlets.site.captures.models import NoticeChoice
from isohume.outlets.site.ledger.actions import Action, By, Done
from isohume.outlets.site.people.models import Person, Site
from isohume.outlets.site.people.roles import EVERYONE


@dataclass
class ChooseNotices(Action[NoticeChoice]):
    """Each person's own choice, on every computer; nothing is chosen to begin with."""

    name = "notices_chosen"
    said = "Chose how to be told of runs"
    roles = EVERYONE

    person: Person
    sound: bool = False
    browser: bool = False

    @property
    def site(self) -> Site:
        """The person's plant."""
        return self.person.site

    def change(self, by: By) -> Done[NoticeChoice]:
        """Keep it; the same choice again changes nothing."""
        before = NoticeChoice.objects.filter(person=self.person).first() or NoticeChoice(person=self.person)
        was, wanted = (before.sound, before.browser), (self.sound, self.browser)
        if before.pk is not None and was == wanted:
            return Done(before, self.person.ref, before=True)
        before.sound, before.browser = wanted
        before.save()
        details = {
            name: [_word(old), _word(new)]
            for name, old, new in zip(("sound", "browser"), was, wanted, strict=True)
            if old != new
        }
        return Done(before, self.person.ref, details=details)


def _word(chosen: bool) -> str:
    return "on" if chosen else "off"
