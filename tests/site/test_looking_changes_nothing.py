"""Whoever only looks leaves nothing behind: every page opened, not one row of the database another."""

from __future__ import annotations

import hashlib
import sqlite3
from contextlib import closing

from django.test import Client
from tests.served import DATABASE, Plant
from tests.site import addresses
from tests.site.acts import BACKEND, BY_ROLE

from isohume.outlets.site.people.models import Person

SESSION = {"django_session"}  # who is signed in, and which instrument the shift's grid stands at


def signed_in(role: str) -> Client:
    """The browser of a role."""
    client = Client()
    client.force_login(Person.objects.get(username=BY_ROLE[role]), BACKEND)
    return client


def rows_of(plant: Plant) -> dict[str, str]:
    """A digest of every table's rows."""
    with closing(sqlite3.connect(f"file:{plant.folder / DATABASE}?mode=ro", uri=True)) as connection:
        tables = [name for (name,) in connection.execute("SELECT name FROM sqlite_master WHERE type = 'table'")]
        digests = {}
        for table in sorted(set(tables) - SESSION):
            digest = hashlib.sha256()
            for row in connection.execute(f'SELECT * FROM "{table}"'):
                digest.update(repr(row).encode())
            digests[table] = digest.hexdigest()
    assert len(digests) > 30
    return digests


def files_of(plant: Plant) -> set[str]:
    """The files beside the database."""
    return {str(one) for one in plant.folder.rglob("*") if not one.name.startswith(DATABASE)}


def test_opening_every_page_changes_no_row(full_plant_here: Plant) -> None:
    clients = [signed_in("manager"), signed_in("auditor")]
    before, kept = rows_of(full_plant_here), files_of(full_plant_here)
    ask, opened = full_plant_here.ask, 0
    found = [address for listed in {**addresses.pages(ask), **addresses.parts(ask)}.values() for address in listed]
    found += [address for listed in addresses.files(ask).values() for address, _ in listed]
    found += [address for address, _ in addresses.leads(ask)]
    for client in clients:
        for address in found:
            answer = client.get(address)
            assert answer.status_code in (200, 302), (address, answer.status_code)
            b"".join(answer.streaming_content) if answer.streaming else answer.content
            opened += 1
    assert rows_of(full_plant_here) == before
    assert files_of(full_plant_here) == kept
    assert opened > 250


def test_the_digest_sees_a_changed_row(full_plant_here: Plant) -> None:
    before = rows_of(full_plant_here)
    person = Person.objects.get(username=BY_ROLE["auditor"])
    person.printed_name += " "
    person.save(update_fields=["printed_name"])
    assert {table for table, digest in rows_of(full_plant_here).items() if digest != before[table]} == {"people_person"}
