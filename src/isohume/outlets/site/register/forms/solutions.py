"""Adding and withdrawing a reference lot, recording its weighing; adding, opening and discarding its bottles."""

from __future__ import annotations

from django.urls import reverse

from isohume.foundation.quantity.errors import InputError
from isohume.foundation.solutions import known_solutions
from isohume.outlets.site.config.keys import read_key
from isohume.outlets.site.people.models import Person, Site
from isohume.outlets.site.register.actions.add_bottle import AddBottle
from isohume.outlets.site.register.actions.add_solution_lot import AddSolutionLot
from isohume.outlets.site.register.actions.discard_bottle import DiscardBottle
from isohume.outlets.site.register.actions.open_bottle import OpenBottle
from isohume.outlets.site.register.actions.record_weighing import RecordWeighing
from isohume.outlets.site.register.actions.withdraw_solution_lot import WithdrawSolutionLot
from isohume.outlets.site.register.models import Bottle, SolutionLot
from isohume.outlets.site.register.views.act import ActForm, Ask

LOT_FIELDS = ("code", "solution", "made_on", "expires_on", "molality", "made_from", "certificate")
WEIGHED_FIELDS = (
    "balance",
    "salt_g",
    "water_g",
    "purity",
    "check_nominal_g",
    "check_read_g",
    "check_limit_g",
    "weighed_at",
)
NOW_HINT = "Leave empty for now."


def _people(site: Site) -> list[tuple[str, str]]:
    return [(str(person.pk), person.printed_name) for person in Person.objects.active(site).order_by("printed_name")]


def _person(site: Site, pk: str, field: str) -> Person | None:
    """Somebody of the plant, or nobody where nobody was chosen."""
    if not pk:
        return None
    found = Person.objects.active(site).filter(pk=read_key(pk)).first()
    if found is None:
        raise InputError(field, pk, "a person of this plant")
    return found


def new(site: Site) -> ActForm:
    """A new lot of a reference solution."""
    return ActForm(
        question="Which solution tells the truth?",
        says="Add a reference lot",
        button="Add reference lot",
        back=reverse("solutions"),
        back_text="Reference lots",
        asks=[
            Ask("code", "Lot code", required=True),
            Ask("solution", "Solution", required=True, hint="Formula or English name: NaCl, sodium chloride"),
            Ask(
                "molality",
                "Molality",
                unit="mol/kg",
                decimal=True,
                hint="Empty: saturated, with crystals.",
            ),
            Ask("made_on", "Made on", "date", required=True),
            Ask("expires_on", "Last day of use", "date", required=True),
            Ask("made_by", "Made by", "select", options=_people(site), blank="bought, or not known"),
            Ask("made_from", "Made from", hint="Salt, its purity and lot; the water."),
            Ask("certificate", "Certificate", hint="The supplier's, where it was bought."),
        ],
        make=lambda f: AddSolutionLot(
            site, **{key: f.get(key, "") for key in LOT_FIELDS}, made_by=_person(site, f.get("made_by", ""), "made_by")
        ),
        after=lambda made: made.get_absolute_url(),
        advice=("Known: " + ", ".join(known_solutions()) + ".",),
    )


def of_lot(lot: SolutionLot, act: str) -> ActForm:
    """A change of a lot: bottle, weighing or withdraw."""
    return {"bottle": _bottle, "weighing": _weighing, "withdraw": _withdraw}[act](lot)


def _bottle(lot: SolutionLot) -> ActForm:
    return ActForm(
        question=f"Which bottle is filled from {lot}?",
        says="Add a bottle",
        button="Add bottle",
        back=lot.get_absolute_url(),
        back_text=str(lot),
        asks=[Ask("code", "Bottle", start=str(lot.bottles.count() + 1), required=True)],
        make=lambda f: AddBottle(lot, f.get("code", "")),
        after=lambda made: made.get_absolute_url(),
    )


def _weighing(lot: SolutionLot) -> ActForm:
    rows = (
        ("salt_g", "Salt as weighed"),
        ("water_g", "Water"),
        ("check_nominal_g", "Check weight of the balance"),
        ("check_read_g", "The balance read"),
        ("check_limit_g", "It may differ by"),
    )
    site = lot.site
    return ActForm(
        question=f"How was {lot} weighed?",
        says="Record a weighing",
        button="Record weighing",
        back=lot.get_absolute_url(),
        back_text=str(lot),
        asks=[
            Ask("balance", "Balance", required=True),
            *(Ask(name, label, unit="g", required=True, decimal=True) for name, label in rows),
            Ask("purity", "Purity of the salt"),
            Ask("weighed_at", "Weighed at", "moment", hint=NOW_HINT),
            Ask("weighed_by", "Weighed by", "select", options=_people(site), blank="me"),
        ],
        make=lambda f: RecordWeighing(
            lot,
            **{key: f.get(key, "") for key in WEIGHED_FIELDS},
            weighed_by=_person(site, f.get("weighed_by", ""), "weighed_by"),
        ),
        after=lambda made: made.solution_lot.get_absolute_url(),
        advice=("A balance that fails its own check is written down too: the lot may then not be used.",),
    )


def _withdraw(lot: SolutionLot) -> ActForm:
    return ActForm(
        question=f"Must {lot} not be used?",
        says="Withdraw the lot",
        button="Withdraw reference lot",
        back=lot.get_absolute_url(),
        back_text=str(lot),
        asks=[Ask("reason", "Why", required=True)],
        make=lambda f: WithdrawSolutionLot(lot, f.get("reason", "")),
        after=lambda made: made.get_absolute_url(),
        note="None of its bottles may be used any more, and it cannot be taken back. Checks that it was used in stay.",
        danger=True,
    )


def of_bottle(bottle: Bottle, act: str) -> ActForm:
    """A change of a bottle: open or discard."""
    return {"open": _open, "discard": _discard}[act](bottle)


def _open(bottle: Bottle) -> ActForm:
    return ActForm(
        question="Which bottle is used from now on?",
        says=f"Open {bottle}",
        button="Open bottle",
        back=bottle.get_absolute_url(),
        back_text=str(bottle),
        asks=[
            Ask("opened_at", "Opened at", "moment", hint=NOW_HINT),
            Ask("discard_on", "Discard on", "date", hint=f"Empty: with its lot, on {bottle.solution_lot.expires_on}."),
        ],
        make=lambda f: OpenBottle(bottle, f.get("opened_at", ""), f.get("discard_on", "")),
        after=lambda made: made.get_absolute_url(),
        advice=("An opened bottle changes with every opening: give it a day to be discarded on.",),
    )


def _discard(bottle: Bottle) -> ActForm:
    return ActForm(
        question="Must this bottle not be read any more?",
        says=f"Discard {bottle}",
        button="Discard bottle",
        back=bottle.get_absolute_url(),
        back_text=str(bottle),
        asks=[
            Ask("reason", "Why", required=True),
            Ask("discarded_at", "Discarded at", "moment", hint=NOW_HINT),
        ],
        make=lambda f: DiscardBottle(bottle, f.get("reason", ""), f.get("discarded_at", "")),
        after=lambda made: made.get_absolute_url(),
        danger=True,
    )
