"""Every change of the site as a person makes it: posted through its own page, in an order in which each may be done.

The same acts, with other words in the free-text fields, fill the plant for the walk of all pages, meet every role,
and carry hostile text.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from datetime import timedelta
from typing import Any
from urllib.parse import urlencode

from django.core.files import File
from django.db import connection
from django.http import HttpResponse
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from isohume.outlets.site.ledger.notes import note
from isohume.outlets.site.people.models import Person

BACKEND = "django.contrib.auth.backends.ModelBackend"
BY_ROLE = {
    "analyst": "rhale",
    "manager": "mfarrow",
    "release officer": "dpell",
    "developer": "jsorrel",
    "auditor": "avance",
    "administrator": "kmoor",
}
ROLES = tuple(BY_ROLE)
Words = Callable[[str, int], str]
"""words(plain, most): what is typed into a free-text field that holds so many characters."""


@dataclass(frozen=True)
class Act:
    """One change: the action's stored name, the page it is posted to, who may, and what is typed."""

    kind: str
    route: str
    arguments: tuple[Any, ...] = ()
    who: str = ""
    fields: Mapping[str, Any] = field(default_factory=dict)
    asked: Mapping[str, str] = field(default_factory=dict)

    @property
    def address(self) -> str:
        """Where it is posted to."""
        query = f"?{urlencode(self.asked)}" if self.asked else ""
        return reverse(self.route, args=self.arguments) + query


def plain(words: str, most: int = 200) -> str:
    """What people of the plant type."""
    return words[:most]


class People:
    """The people of the plant at their browsers; all have the same password."""

    def __init__(self, password: str) -> None:
        self.password = password
        self._clients: dict[str, Client] = {"": Client()}
        for person in Person.objects.all():
            person.set_password(password)  # by this process' own hasher
            person.save(update_fields=["password"])
        witness = Person.objects.get(username=BY_ROLE["manager"])  # who vouches for a lost password is known for a day
        note("signed_in", witness.ref, timezone.now() - timedelta(days=2), witness.printed_name)

    def client(self, username: str) -> Client:
        """The browser of a person, signed in."""
        if username not in self._clients:
            client = self._clients[username] = Client()
            client.force_login(Person.objects.get(username=username), BACKEND)
        return self._clients[username]

    def post(self, act: Act, username: str | None = None) -> HttpResponse:
        """Somebody tries the act."""
        for value in act.fields.values():
            if isinstance(value, File):
                value.seek(0)  # somebody else may have sent it before
        return self.client(act.who if username is None else username).post(act.address, act.fields)

    def make(self, act: Act) -> HttpResponse:
        """The right person does it; it must leave its line in the ledger."""
        before = last_line()
        response = self.post(act)
        made = kinds_after(before)
        assert act.kind in made, f"{act.kind} at {act.address}: {response.status_code}, {said(response)}"
        return response


def said(response: HttpResponse) -> str:
    """What a page says against what was posted."""
    text = response.content.decode(errors="replace")
    found = [text.find(word) for word in ('class="form-errors"', 'class="reasons"') if word in text]
    return text[min(found) :][:600] if found else text[:300]


def last_line() -> int:
    """The number of the ledger's last line."""
    with connection.cursor() as cursor:
        cursor.execute("SELECT max(seq) FROM ledger")
        return int(cursor.fetchone()[0])


def kinds_after(line: int) -> list[str]:
    """The kinds of the ledger's lines after one."""
    with connection.cursor() as cursor:
        cursor.execute("SELECT kind FROM ledger WHERE seq > %s ORDER BY seq", [line])
        return [kind for (kind,) in cursor.fetchall()]


def every_act(people: People, words: Words = plain) -> Iterator[Act]:
    """Every change there is, one after the other; each must be made before the next one is asked for."""
    from tests.site.acts_adjustments import adjustment_acts
    from tests.site.acts_bench import bench_acts
    from tests.site.acts_budgets import budget_acts
    from tests.site.acts_captures import capture_acts
    from tests.site.acts_charts import chart_acts
    from tests.site.acts_comparisons import comparison_acts
    from tests.site.acts_decision import decision_acts
    from tests.site.acts_incoming import incoming_acts
    from tests.site.acts_live import live_acts
    from tests.site.acts_lookback import lookback_acts
    from tests.site.acts_outbox import outbox_acts
    from tests.site.acts_register import people_acts, register_acts
    from tests.site.acts_strata import strata_acts
    from tests.site.acts_studies import study_acts

    yield from people_acts(people.password, words)
    yield from register_acts(words)
    yield from budget_acts(words)
    yield from study_acts(people.password, words)
    yield from strata_acts(words)
    yield from outbox_acts(words)
    yield from live_acts(words)
    yield from bench_acts(words)
    yield from decision_acts(people.password, words)
    yield from lookback_acts(words)
    yield from comparison_acts(words)
    yield from chart_acts(words)
    yield from adjustment_acts(people.password, words)
    yield from incoming_acts(words)
    yield from capture_acts(words)
