"""Script in every free-text field: what is shown is text, on every page, after every act and in every error."""

from __future__ import annotations

from dataclasses import dataclass
from urllib.parse import urlsplit

import pymupdf
import pytest
from django.test import Client
from django.urls import reverse
from tests.served import Plant
from tests.site import addresses
from tests.site.acts import BACKEND, BY_ROLE, People, every_act
from tests.site.hostile import Marks, PageRead

from isohume.outlets.site.people.models import Person
from isohume.outlets.site.work.worker import do_next

PASSWORD = "four calm oat bars"
HOSTILE = "<script>alert(0)</script>&\"'"
QUERIES = (
    "text", "state", "product", "before", "scan", "instrument", "block_temperature_c", "lot", "sample", "cup", "made",
    "saved", "next", "meaning", "record", "row", "bottle_1", "temperature_c_1", "sheet", "signed", "all", "bench",
    "tick", "a_w_limit", "level", "direction", "temperature_c", "guard", "moisture_u", "ask_a_w", "ask_moisture",
    "ask_basis", "ask_direction", "ask_temperature_c", "ask_formula", "ask_level", "set", "first",
    "second", "days", "allowed", "from", "to", "method_version", "kind",
)  # fmt: skip
ANSWERS = {200, 302, 403, 404, 410, 422}
LOCKED_OUT = 429  # a form with a password, sent wrongly too often


@dataclass
class Filled:
    """The plant after every act was done with hostile words in every free-text field."""

    plant: Plant
    marks: Marks
    client: Client
    answers: list[str]


def signed_in(role: str = "manager") -> Client:
    """A browser of the plant."""
    client = Client(raise_request_exception=False)  # a fault of ours is answered as a browser would see it
    client.force_login(Person.objects.get(username=BY_ROLE[role]), BACKEND)
    return client


@pytest.fixture(scope="module")
def filled(plant_of_module: Plant) -> Filled:
    """Made through the pages themselves."""
    people, marks = People(PASSWORD), Marks()
    answers = [people.make(act).content.decode() for act in every_act(people, marks.words)]
    while do_next():
        pass
    return Filled(plant_of_module, marks, signed_in(), answers)


def test_text_from_every_field_is_shown_as_text(filled: Filled) -> None:
    """Every page of the plant is read; each text that was typed stands on one of them, whole and harmless."""
    faults, shown = [], set()
    examples = addresses.pages(filled.plant.ask)
    for kind, model in (
        ("lot", "bench_lot"),
        ("run", "bench_run"),
        ("portion", "bench_portion"),
        ("sample", "bench_sample"),
        ("methodversion", "register_methodversion"),
        ("instrument", "register_instrument"),
        ("solutionlot", "register_solutionlot"),
        ("bottle", "register_bottle"),
        ("product", "register_product"),
        ("person", "people_person"),
    ):
        last = filled.plant.ask(f"SELECT id FROM {model} ORDER BY id DESC LIMIT 8")
        examples["trail"] += [reverse("trail", args=[kind, key]) for (key,) in last]
    for address in (address for found in examples.values() for address in found):
        read = PageRead(filled.client.get(address).content.decode(), address)
        faults += [f"{address}: {fault}" for fault in read.faults]
        shown |= read.harmless
    assert faults == []
    never = {number: words for number, words in filled.marks.typed.items() if number not in shown}
    assert never == {}
    assert len(filled.marks.typed) > 60


def test_the_answers_themselves_hold_no_script(filled: Filled) -> None:
    assert [fault for answer in filled.answers for fault in PageRead(answer).faults] == []


def test_papers_print_it_as_text(filled: Filled) -> None:
    made = sorted((filled.plant.folder / "papers").glob("*.pdf"))
    assert len(made) == 3  # a certificate, labels, a hold list
    for paper in made:
        words = " ".join(page.get_text() for page in pymupdf.open(paper))
        assert "<script>alert(" in "".join(words.split()), paper.name


def test_files_are_kept_not_shown(filled: Filled) -> None:
    """An export goes into a file, with a name that came from no field."""
    for address, kind in addresses.files(filled.plant.ask)["record_export"]:
        answer = filled.client.get(address)
        assert answer["Content-Type"].startswith(kind)
        assert answer["X-Content-Type-Options"] == "nosniff"
        assert answer["Content-Disposition"].startswith('attachment; filename="R')
        assert not set(answer["Content-Disposition"]) & set("<>&'")


def test_every_form_sent_with_script_in_every_field_answers_in_text(filled: Filled) -> None:
    """Free fields alone, then every field there is: choices and hidden ones too."""
    faults, sent = [], 0
    for number in (0, 1):
        for address, form in _forms(filled).items():
            everything = dict.fromkeys(form.fields, HOSTILE)
            free = {name: HOSTILE if name in form.free else value for name, value in form.fields.items()}
            answer = filled.client.post(address, everything if number else free)
            sent += 1
            if answer.status_code not in {*ANSWERS, LOCKED_OUT}:
                faults.append(f"{address}: {answer.status_code}")
            faults += [f"{address}: {fault}" for fault in PageRead(answer.content.decode()).faults]
    assert faults == []
    assert sent > 80


def _forms(filled: Filled) -> dict:
    """Every form of every page by where it is sent; the first one of each place."""
    found: dict = {}
    for examples in addresses.pages(filled.plant.ask).values():
        for address in examples[:3]:
            for form in PageRead(filled.client.get(address).content.decode(), address).forms:
                place = urlsplit(form.action)
                if place.path not in (reverse("sign_out"), reverse("lock")):
                    found.setdefault(form.action, form)
    return found


@pytest.mark.parametrize("text", [HOSTILE, "9" * 30, "-1", "\x00", "٣"])
def test_every_page_asked_with_anything_in_its_query(filled: Filled, text: str) -> None:
    faults = []
    asked = dict.fromkeys(QUERIES, text)
    found = {**addresses.pages(filled.plant.ask), **addresses.parts(filled.plant.ask), "scan": [reverse("scan")]}
    for examples in found.values():
        address = urlsplit(examples[0]).path
        answer = filled.client.get(address, {**asked, "code": text}, headers={"HX-Request": "true"})
        if answer.status_code not in ANSWERS:
            faults.append(f"{address}: {answer.status_code}")
        faults += [f"{address}: {fault}" for fault in PageRead(answer.content.decode(), address).faults]
    assert faults == []
