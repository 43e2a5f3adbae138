"""What a plant owns before its first day: its people, its method, its agent, meters, references and products."""

from __future__ import annotations

from datetime import datetime, timedelta

from isohume.outlets.demo.live.bench import ZONE, LiveBench, Plant
from isohume.outlets.site.captures.actions.register_agent import RegisterAgent
from isohume.outlets.site.ledger.actions import By, perform
from isohume.outlets.site.people.actions.accounts import InvitePerson, SetPassword
from isohume.outlets.site.people.actions.show_competence import ShowCompetence
from isohume.outlets.site.people.models import Invitation, Person
from isohume.outlets.site.people.setup import digest_of, new_token, set_up
from isohume.outlets.site.register.actions.add_bottle import AddBottle
from isohume.outlets.site.register.actions.add_instrument import AddInstrument
from isohume.outlets.site.register.actions.add_method import AddMethod
from isohume.outlets.site.register.actions.add_product import AddProduct
from isohume.outlets.site.register.actions.add_solution_lot import AddSolutionLot
from isohume.outlets.site.register.actions.add_specification import AddSpecification
from isohume.outlets.site.register.actions.method_fields import Asks
from isohume.outlets.site.register.actions.open_bottle import OpenBottle
from isohume.outlets.site.register.actions.set_budget import SetBudget
from isohume.outlets.site.register.models import Product


def make_bench(plant: Plant, begun: datetime, password: str) -> LiveBench:
    """The people, the method with its budget, the agent; everything else is registered on the bench it returns."""
    people = _people(plant, begun, password)
    by = By(people["manager"], begun + timedelta(minutes=10))
    asks = Asks(version="1", document="WI-4, issue 1", settled_change="0.0005", settled_window_s="60")
    method = perform(AddMethod(by.person.site, "Water activity at 25 degC", asks), by)
    source, reason = "Own check and duplicate data of the plant", "first own data"
    budget = SetBudget(method, "own data", u_other=plant.u_other, s_r="0.0020", source=source, reason=reason)
    perform(budget, by)
    shown, evidence = begun.date() - timedelta(days=30), "Blind reference within 0.003"
    lapses = shown + timedelta(days=365)
    perform(ShowCompetence(people["analyst"], method.method, shown.isoformat(), lapses.isoformat(), evidence), by)
    agent, _token = perform(RegisterAgent(by.person.site, "Bench computer 1"), by)
    return LiveBench(begun + timedelta(minutes=20), people, method, agent=agent)


def add_instrument(bench: LiveBench, called: str, principle: str, *, surface: bool, check_limit: str = "0.005") -> None:
    """One meter. surface: whether it measures the temperature of the sample's surface."""
    by = bench.by("manager")
    due = (by.at.date() + timedelta(days=290)).isoformat()
    action = AddInstrument(
        by.person.site, called, f"{called}-3107", principle, "yes" if surface else "no",
        calibration_due=due, location="Bench", check_limit=check_limit,
    )  # fmt: skip
    bench.instruments[called] = perform(action, by)


def add_bottles(bench: LiveBench, solution: str, molality: str = "", count: int = 1) -> None:
    """A reference lot with open bottles. On the bench the second one's name ends with ", bottle 2"."""
    by = bench.by("manager")
    made = by.at.date() - timedelta(days=10)
    letters = "".join(letter for letter in solution if letter.isalnum())
    code = letters + ("-m" if molality else "") + f"-{made:%y%m}"
    lot = AddSolutionLot(
        by.person.site, code, solution, made.isoformat(), (made + timedelta(days=300)).isoformat(), molality=molality,
        made_from="Salt of 99.5 % purity and distilled water", made_by=by.person,
    )  # fmt: skip
    kept = perform(lot, by)
    discard = (by.at.date() + timedelta(days=150)).isoformat()
    for number in range(1, count + 1):
        name = f"{solution} {molality}".strip() + ("" if number == 1 else f", bottle {number}")
        bottle = perform(AddBottle(kept, str(number)), by)
        bench.bottles[name] = perform(OpenBottle(bottle, by.at.isoformat(), discard), by)


def add_product(
    bench: LiveBench, called: str, form: str, part: str, flags: tuple[str, ...] = (), **limits: str
) -> Product:
    """A product with its first specification. limits: the fields of AddSpecification; the kind is a quality limit."""
    by = bench.by("manager")
    pack = limits.pop("pack", "")
    added = AddProduct(by.person.site, called, form, bench.method.method, [part], list(flags), pack)
    product = perform(added, by)
    kind, source = limits.pop("kind", "quality"), limits.pop("source")
    perform(AddSpecification(product, "1", "25.0", kind, source, component=part, **limits), by)
    return product


def _people(plant: Plant, at: datetime, password: str) -> dict[str, Person]:
    invitation = Invitation.objects.get(token_digest=digest_of(new_token(None, at)))
    *others, (username, printed, _roles) = plant.people
    form = {
        "name": plant.name, "laboratory": plant.laboratory, "address": "Invented plant; demonstration data",
        "time_zone": ZONE, "username": username, "printed_name": printed, "new_password": password, "again": password,
    }  # fmt: skip
    administrator = set_up(invitation, form, [], at)
    found = {"administrator": administrator}
    for name, words, roles in others:
        person, token = perform(InvitePerson(administrator.site, name, words, list(roles)), By(administrator, at))
        found[roles[0]] = perform(SetPassword(token, password, password), By(person, at))
    return found
