"""Two plants in one installation: whatever one asks of the other's is not there, and nothing of it changes."""

from __future__ import annotations

import re
from collections.abc import Callable

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone
from tests.served import Plant
from tests.site import addresses
from tests.site.acts import BACKEND, BY_ROLE, Act, People, every_act, kinds_after, last_line
from tests.site.routes import routes

from isohume.outlets.site.bench.models import Lot
from isohume.outlets.site.ledger.actions import By, check
from isohume.outlets.site.lots.actions.hold_lot import HoldLot
from isohume.outlets.site.people.models import Person, Site

PASSWORD = "four calm oat bars"
# what somebody of another plant may do with the same words: it is then the own plant's, and touches nothing of ours
OWN = {
    "person_invited", "password_set", "password_changed", "instrument_added", "method_added", "solution_lot_added",
    "mapping_saved", "hand_over_written", "gauge_study_added", "sites_compared",
    "chart_rules_chosen", "charts_reviewed", "material_limits_set", "historic_mapping_saved",
    "agent_registered", "entry_set_aside", "notices_chosen",
}  # fmt: skip


def second_plant() -> dict[str, Person]:
    """Another plant with one person a role."""
    site = Site.objects.create(key="quiet-mill", name="Quiet Mill", time_zone="Europe/London")
    people = {}
    for role in BY_ROLE:
        person = Person(site=site, username=f"mill-{role.replace(' ', '-')}", printed_name=f"Mill {role}", roles=[role])
        person.set_password(PASSWORD)
        person.save()
        people[role] = person
    return people


def browser_of(person: Person) -> Client:
    """The browser of a person of the second plant."""
    client = Client()
    client.force_login(person, BACKEND)
    return client


def test_no_object_of_another_plant_is_found(full_plant_here: Plant, record_property: Callable) -> None:
    """Every address with something of plant A in it, asked and posted to by every role of the second plant."""
    found = {**addresses.pages(full_plant_here.ask), **addresses.parts(full_plant_here.ask)}
    found |= {name: [address for address, _ in listed] for name, listed in addresses.files(full_plant_here.ask).items()}
    found["scan"] = [address for address, _ in addresses.leads(full_plant_here.ask)]
    named = [a for name, listed in found.items() for a in listed if routes()[name].arguments or name == "scan"]
    people, before, found_there = second_plant(), last_line(), []
    for role, person in people.items():
        client = browser_of(person)
        for address in named:
            answers = (client.get(address).status_code, client.post(address, {"reason": "a"}).status_code)
            if not set(answers) <= {404, 405}:
                found_there.append(f"{address} for {role} of another plant: {answers}")
    assert found_there == []
    assert last_line() == before
    record_property("cells", f"{2 * len(named) * len(people)} of another plant's people and our addresses")


def test_posted_changes_are_not_found_either(full_plant_here: Plant) -> None:
    client, before = browser_of(Person.objects.get(username="mill-manager")), last_line()
    for name in addresses.POSTED:
        route = routes()[name]
        if not route.arguments:
            continue
        whose = {"tempering_row": "portion", "second_keying_row": "run"}.get(name, addresses.POSTED[name])
        ours = [key for key in addresses.keys(full_plant_here.ask, whose) if name != "person_act" or key < 9]
        assert ours, whose
        for key in ours:
            for act in route.acts or ("",):
                arguments = [key, act] if act else [key]
                assert client.post(reverse(name, args=arguments), {"reason": "a"}).status_code == 404, (name, arguments)
    assert last_line() == before


def test_lists_hold_nothing_of_another_plant(full_plant_here: Plant) -> None:
    """A page without an object in its address shows the own plant's things only."""
    client = browser_of(Person.objects.get(username="mill-auditor"))
    ours = [row[0] for row in full_plant_here.ask("SELECT code FROM bench_lot")]
    ours += [row[0] for row in full_plant_here.ask("SELECT name FROM register_product")]
    ours += [row[0] for row in full_plant_here.ask("SELECT name FROM register_instrument")]
    ours += [row[0] for row in full_plant_here.ask("SELECT printed_name FROM people_person WHERE site_id = 1")]
    ours += [row[0] for row in full_plant_here.ask("SELECT record FROM lots_lotrecord")]
    words = re.compile("|".join(sorted(map(re.escape, ours), key=len, reverse=True)))
    for name in addresses.PLAIN:
        for address in addresses.pages(full_plant_here.ask)[name]:
            answer = client.get(address)
            if answer.status_code == 200:
                said = re.sub(r'(?:value|content|placeholder)="[^"]*"', "", answer.content.decode())
                found = words.search(re.sub(r'<(?:span|p)[^>]*class="hint"[^>]*>.*?</(?:span|p)>', "", said))
                assert found is None or found[0] in ("OW-1",), (address, found[0])


def test_no_act_of_ours_is_done_from_another_plant(plant: Plant) -> None:
    """Every act, posted first by the same role of the second plant, then by the person whose act it is."""
    people, twins = People(PASSWORD), second_plant()
    role_of = {name: role for role, name in BY_ROLE.items()}
    through, tried = [], 0
    for act in every_act(people):
        if act.kind not in OWN:
            tried += 1
            before = last_line()
            answer = _twin(act, twins[role_of.get(act.who, "manager")])
            if kinds_after(before) or answer not in (404, 422):
                through.append(f"{act.kind} at {act.address}: {answer}, {kinds_after(before)}")
        people.make(act)
    assert through == [], "\n".join(through)
    assert tried > 50


def _twin(act: Act, person: Person) -> int:
    client = browser_of(person)
    for value in act.fields.values():
        if hasattr(value, "seek"):
            value.seek(0)
    return int(client.post(act.address, act.fields).status_code)


@pytest.mark.parametrize("role", ["analyst", "manager", "release officer"])
def test_an_action_itself_refuses_another_plants_people(plant: Plant, role: str) -> None:
    """Also where no page stands between."""
    person = second_plant()[role]
    verdict = check(HoldLot(Lot.objects.latest("pk"), "a reason"), By(person, timezone.now()))
    assert (verdict.allowed, verdict.reasons) == (False, ("This belongs to another plant.",))
