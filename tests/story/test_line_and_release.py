"""A reading for the line, and the two people that a release needs."""

from __future__ import annotations

from collections.abc import Callable

from playwright.sync_api import expect
from tests.served import Plant, in_the_site
from tests.story.desk import Desk
from tests.story.made import checked_and_read

OFFICER_AT_THE_BENCH = """
from datetime import date, timedelta
from django.utils import timezone
from isohume.outlets.site.ledger.actions import By, perform
from isohume.outlets.site.people.actions.accounts import ChangeRoles
from isohume.outlets.site.people.actions.show_competence import ShowCompetence
from isohume.outlets.site.people.models import Person
from isohume.outlets.site.register.models import Method
of = lambda username: By(Person.objects.get(username=username), timezone.now())
officer, day = Person.objects.get(username="dpell"), date.today()
perform(ChangeRoles(officer, ["analyst", "release officer"], "stands in for a week"), of("kmoor"))
shown, lapses = (day - timedelta(days=2)).isoformat(), (day + timedelta(days=30)).isoformat()
evidence = "Blind reference BR-DP within 0.003"
perform(ShowCompetence(officer, Method.objects.get(), shown, lapses, evidence), of("mfarrow"))
"""
SAFETY_PRODUCT = """
from django.utils import timezone
from isohume.outlets.site.ledger.actions import By, perform
from isohume.outlets.site.people.models import Person
from isohume.outlets.site.register.actions.add_product import AddProduct
from isohume.outlets.site.register.actions.add_specification import AddSpecification
from isohume.outlets.site.register.models import Method
manager, method = Person.objects.get(username="mfarrow"), Method.objects.get()
by = By(manager, timezone.now())
product = perform(AddProduct(manager.site, "Dry ration", "baked goods", method, []), by)
source = "Hazard analysis DR-1 of the plant"
perform(AddSpecification(product, "1", "25.0", "safety", source, upper="0.700"), by)
"""
TWO_PEOPLE = "A food-safety limit: the reviewer and the releaser are two people."


def test_a_reading_for_the_line_says_drier_or_wetter_and_makes_no_certificate(
    plant: Plant, desk: Callable[[str], Desk]
) -> None:
    checked_and_read(plant, {})
    developer = desk("jsorrel").open("/in-process/")
    typed = {"where": "cooling tunnel, end", "target_low": "0.600", "target_high": "0.640", "a_w": "0.671"}
    read_for_the_line(developer, typed)
    expect(developer.page.get_by_role("main")).to_contain_text("Read for the line: this is for analyst, manager.")
    assert plant.one("SELECT count(*) FROM bench_inprocessreading") == 0
    analyst = desk("rhale").open("/in-process/")
    before = plant.last_line
    read_for_the_line(analyst, typed)
    expect(analyst.answer).to_have_text("Wetter")
    advice, lots = plant.one("SELECT advice FROM bench_inprocessreading"), plant.one("SELECT count(*) FROM bench_lot")
    developer.open(analyst.page.url.removeprefix(developer.address))
    expect(developer.answer).to_have_text(advice.capitalize())
    assert plant.kinds(before) == ["in_process_read"]
    assert plant.one("SELECT count(*) FROM bench_lot") == lots
    for way in ("Certificate", "certificate", "Release", "Sign", "Judge"):
        expect(developer.page.get_by_role("main").get_by_role("link", name=way)).to_have_count(0)
        expect(developer.page.get_by_role("main").get_by_role("button", name=way)).to_have_count(0)


def read_for_the_line(desk: Desk, typed: dict[str, str]) -> None:
    """Fill in the form and send it."""
    desk.page.locator("[name=product]").select_option(label="Soft oat bar")
    desk.page.locator("[name=instrument]").select_option(index=1)
    desk.fill(**typed).click("Read for the line")


def test_nobody_releases_a_lot_that_he_read(plant: Plant, desk: Callable[[str], Desk]) -> None:
    in_the_site(plant.folder, OFFICER_AT_THE_BENCH)
    lot, *runs = checked_and_read(plant, {"SB-OWN-1": ("0.6312", "0.6320")}, who="dpell")["SB-OWN-1"]
    manager, officer = desk("mfarrow"), desk("dpell")
    record = keyed_and_judged(manager, plant, lot, dict(zip(runs, ("0.6312", "0.6320"), strict=True)))
    sign(manager, plant, "reviewed", record)
    officer.open(f"/sign/?meaning=released&record={record}")
    expect(officer.answer).to_have_text("Nothing to sign as released")
    why = "Dele Pellingford recorded runs of lot SB-OWN-1: another person signs."
    expect(officer.page.get_by_role("main")).to_contain_text(why)
    refused_by_hand(officer, plant, record, why)
    assert plant.one("SELECT state FROM bench_lot WHERE id = ?", lot) == "judged"


def test_a_food_safety_limit_needs_two_people(plant: Plant, desk: Callable[[str], Desk]) -> None:
    in_the_site(plant.folder, SAFETY_PRODUCT)
    lot, *runs = checked_and_read(plant, {"DR-1": ("0.5512", "0.5520")}, product="Dry ration")["DR-1"]
    manager, officer = desk("mfarrow"), desk("dpell")
    record = keyed_and_judged(manager, plant, lot, dict(zip(runs, ("0.5512", "0.5520"), strict=True)))
    sign(officer, plant, "reviewed", record)
    officer.open(f"/sign/?meaning=released&record={record}")
    expect(officer.page.get_by_role("main")).to_contain_text(TWO_PEOPLE)
    refused_by_hand(officer, plant, record, TWO_PEOPLE)
    sign(manager, plant, "reviewed", record)
    sign(officer, plant, "released", record)
    assert plant.one("SELECT state FROM bench_lot WHERE id = ?", lot) == "released"
    signed = plant.ask("SELECT person, meaning FROM signature WHERE record = ? ORDER BY seq", record)
    assert signed == [("dpell", "reviewed"), ("mfarrow", "reviewed"), ("dpell", "released")]


def keyed_and_judged(manager: Desk, plant: Plant, lot: int, numbers: dict[int, str]) -> str:
    """The second keying and the judging, as far as a signature needs them; returns the record."""
    manager.open("/second-keying/")
    for run, a_w in numbers.items():
        row = manager.page.locator(f"#run-{run}")
        row.locator("[name=a_w]").fill(a_w)
        row.locator("[name=a_w]").press("Enter")
        expect(row).to_have_attribute("data-saved", "")
    manager.open(f"/lots/{lot}/").click("Judge lot")
    return str(plant.one("SELECT record FROM lots_lotrecord WHERE lot_id = ?", lot))


def sign(desk: Desk, plant: Plant, meaning: str, record: str) -> None:
    """One record, the password given once."""
    desk.open(f"/sign/?meaning={meaning}&record={record}")
    desk.page.get_by_role("checkbox").check()
    desk.fill(password=plant.password).click(f"Sign ticked records as {meaning}")
    expect(desk.page.get_by_role("main")).to_contain_text(meaning)


def refused_by_hand(officer: Desk, plant: Plant, record: str, why: str) -> None:
    """A request made by hand is refused like the page, and leaves nothing behind."""
    before = plant.last_line
    answer = officer.post("/sign/", {"meaning": "released", "records": record, "password": plant.password})
    assert answer.status == 422
    assert why in answer.text()
    assert "signature" not in plant.kinds(before)
