"""What an administrator and a manager change: people, instruments, methods, solutions, products."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta

from django.utils import timezone
from tests.site.acts import Act, Words

from isohume.outlets.site.people.models import Person
from isohume.outlets.site.people.setup import new_token
from isohume.outlets.site.register.models import Bottle, Instrument, Method, MethodVersion, Product, SolutionLot

ADMINISTRATOR, MANAGER = "kmoor", "mfarrow"
NEW = "nquill"


def people_acts(password: str, words: Words) -> Iterator[Act]:
    """An account from its invitation to its end and back."""
    name = words("Nell Quillfeather-Dray", 120)
    invited = {"username": NEW, "printed_name": name, "roles": ["analyst"]}
    yield Act("person_invited", "people", (), ADMINISTRATOR, invited)
    new = Person.objects.get(username=NEW)
    lost = {"reason": words("The link was lost", 300), "witness": MANAGER, "password": password}
    yield Act("person_invited_again", "person_act", (new.pk, "invite-again"), ADMINISTRATOR, lost)
    twice = {"new_password": password, "again": password}
    yield Act("password_set", "set_up", (new_token(new, timezone.now()),), "", twice)
    yield Act("password_changed", "password", (), NEW, {"password": password, **twice})
    today = timezone.localdate()
    shown = {
        "method": Method.objects.get().pk,
        "shown_on": today.isoformat(),
        "lapses_on": (today + timedelta(days=300)).isoformat(),
        "evidence": words("Blind reference BR-NQ within 0.003", 300),
    }
    yield Act("competence_shown", "person_act", (new.pk, "competence"), MANAGER, shown)
    roles = {"roles": ["analyst", "developer"], "reason": words("Helps in the kitchen too", 300)}
    yield Act("roles_changed", "person_act", (new.pk, "roles"), ADMINISTRATOR, roles)
    yield Act("person_unlocked", "person_act", (new.pk, "unlock"), ADMINISTRATOR)
    for act, why in (("deactivate", "On leave until spring"), ("activate", "Back from leave")):
        yield Act("account_active_changed", "person_act", (new.pk, act), ADMINISTRATOR, {"reason": words(why, 300)})


def register_acts(words: Words) -> Iterator[Act]:
    """Everything the plant owns."""
    yield from _instruments(words)
    yield from _methods(words)
    yield from _solutions(words)
    yield from _products(words)


def _instruments(words: Words) -> Iterator[Act]:
    setting = {
        "location": words("Shelf by the window", 120),
        "warm_up_min": "20",
        "check_limit": "0.006",
        "u_instrument": "0.002",
        "calibration_due": (timezone.localdate() + timedelta(days=9)).isoformat(),
    }
    added = {
        "called": words("OW-3", 60),
        "serial": words("OW3-1188", 60),
        "principle": "electrolyte conductivity",
        "measures_surface_temperature": "no",
    }
    yield Act("instrument_added", "instrument_new", (), MANAGER, {**added, **setting})
    key = Instrument.objects.latest("pk").pk
    changed = {
        **setting,
        "serial": words("OW3-1189", 60),
        "location": words("Bench room 2, left", 120),
        "reason": words("The serial number was misread", 300),
    }
    yield Act("instrument_changed", "instrument_act", (key, "change"), MANAGER, changed)
    out = {"reason": words("Its chamber seal is torn", 300)}
    yield Act("instrument_withdrawn", "instrument_act", (key, "withdraw"), MANAGER, out)
    back = {"reason": words("Seal replaced, waits for its check", 300)}
    yield Act("instrument_returned", "instrument_act", (key, "return"), MANAGER, back)
    again = {"reason": words("The new seal leaks", 300)}
    yield Act("instrument_withdrawn", "instrument_act", (key, "withdraw"), MANAGER, again)


def _methods(words: Words) -> Iterator[Act]:
    asks = {
        "temperature_c": "25.0",
        "temperature_tolerance_c": "0.5",
        "mismatch_limit_c": "",
        "check_interval_h": "24",
        "portions": "2",
        "open_limit_min": "10",
        "lidded_limit_h": "4",
        "film_limit_h": "48",
    }
    first = {
        **asks,
        "called": words("Water activity of syrups, BM-14", 120),
        "version": words("1", 20),
        "document": words("BM-14, issue 1", 200),
        "equilibrium_criterion": words("change below 0.0005 in 3 minutes, twice", 200),
    }
    yield Act("method_added", "method_new", (), MANAGER, first)
    key = Method.objects.latest("pk").pk
    second = {
        **asks,
        "version": words("2", 20),
        "document": words("BM-14, issue 2", 200),
        "equilibrium_criterion": words("change below 0.0003 in 3 minutes, twice", 200),
        "reason": words("The criterion was too loose for thick syrups", 300),
    }
    yield Act("method_version_added", "method_act", (key, "version"), MANAGER, second)
    budget = {
        "basis": "own data",
        "u_other": "0.0035",
        "s_r": "0.0022",
        "s_reproducibility": "",
        "s_position": "",
        "source": words("Duplicates of the spring", 300),
        "reason": words("First own data", 300),
    }
    version = MethodVersion.objects.latest("pk").pk
    yield Act("budget_set", "methodversion_act", (version, "budget"), MANAGER, budget)


def _solutions(words: Words) -> Iterator[Act]:
    today = timezone.localdate()
    lot = {
        "code": words("NaCl-new", 60),
        "solution": "NaCl",
        "molality": "",
        "made_on": (today - timedelta(days=3)).isoformat(),
        "expires_on": (today + timedelta(days=360)).isoformat(),
        "made_by": "",
        "made_from": words("Salt of 99.5 % purity and distilled water", 300),
        "certificate": words("none, own work", 200),
    }
    yield Act("solution_lot_added", "solution_new", (), MANAGER, lot)
    key = SolutionLot.objects.latest("pk").pk
    weighed = {
        "balance": words("Balance B-3", 60),
        "salt_g": "52.48",
        "water_g": "100.12",
        "check_nominal_g": "100.00",
        "check_read_g": "100.01",
        "check_limit_g": "0.03",
        "purity": words("99.5 %", 60),
        "weighed_at": "",
        "weighed_by": "",
    }
    yield Act("weighing_recorded", "solutionlot_act", (key, "weighing"), MANAGER, weighed)
    for bottle in ("left", "right"):
        yield Act("bottle_added", "solutionlot_act", (key, "bottle"), MANAGER, {"code": words(bottle, 60)})
    first = Bottle.objects.filter(solution_lot=key).earliest("pk").pk
    yield Act("bottle_opened", "bottle_act", (first, "open"), MANAGER, {"opened_at": "", "discard_on": ""})
    spilled = {"reason": words("Dried out at its rim", 300), "discarded_at": ""}
    yield Act("bottle_discarded", "bottle_act", (first, "discard"), MANAGER, spilled)
    why = {"reason": words("The salt was not dried before weighing", 300)}
    yield Act("solution_lot_withdrawn", "solutionlot_act", (key, "withdraw"), MANAGER, why)


def _products(words: Words) -> Iterator[Act]:
    method = Method.objects.earliest("pk").pk
    product = {
        "called": words("Date bar", 120),
        "form": "soft or filled pieces",
        "method": method,
        "components": f"{words('date paste', 60)}, {words('seed crust', 60)}",
        "scope_flags": ["volatile"],
        "pack_atmosphere": words("air", 120),
    }
    yield Act("product_added", "product_new", (), "jsorrel", product)
    made = Product.objects.latest("pk")
    limits = {
        "version": words("1", 20),
        "component": made.components[0],
        "temperature_c": "25.0",
        "lower": "",
        "lower_operator": ">=",
        "upper": "0.640",
        "upper_operator": "<=",
        "kind": "quality",
        "guard": "",
        "allow_conditional": "no",
        "expected_a_w": "0.612",
        "source": words("Product specification DB-1 of the plant: soft", 300),
    }
    yield Act("specification_added", "product_act", (made.pk, "specification"), "jsorrel", limits)
