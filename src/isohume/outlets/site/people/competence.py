"""May this person run this method today?"""

from __future__ import annotations

from datetime import date

from isohume.outlets.site.people.models import Person
from isohume.outlets.site.register.models import Method


def reasons_against(person: Person, method: Method, day: date) -> list[str]:
    """Why a person may not run a method on a day; none where competence holds."""
    known = list(person.competences.filter(method=method).order_by("lapses_on"))
    if any(competence.holds_on(day) for competence in known):
        return []
    if not known:
        return [f"{person.printed_name} has no competence on record for {method.name}."]
    last = known[-1].lapses_on
    if last < day:
        return [f"The competence of {person.printed_name} for {method.name} lapsed on {last.isoformat()}."]
    return [f"The competence of {person.printed_name} for {method.name} starts on {known[-1].shown_on.isoformat()}."]
