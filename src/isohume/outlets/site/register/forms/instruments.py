"""Adding, changing, withdrawing and returning an instrument."""

from __future__ import annotations

from django.urls import reverse

from isohume.outlets.site.people.models import Site
from isohume.outlets.site.register.actions.add_instrument import AddInstrument
from isohume.outlets.site.register.actions.change_instrument import CHANGEABLE, ChangeInstrument
from isohume.outlets.site.register.actions.return_instrument import ReturnInstrument
from isohume.outlets.site.register.actions.withdraw_instrument import WithdrawInstrument
from isohume.outlets.site.register.models import Instrument
from isohume.outlets.site.register.models.instruments import PRINCIPLES
from isohume.outlets.site.register.views.act import ActForm, Ask

YES_NO = (("yes", "yes"), ("no", "no"))
WHY = Ask("reason", "Why", required=True)
LIMIT_HINT = "How far a reference may read from its value; at most 0.02."
U_HINT = "The standard uncertainty of a reading, repeatability left out."


def _setting(instrument: Instrument | None = None) -> list[Ask]:
    """What may change later too; a new instrument starts as the model says."""
    now = instrument or Instrument()
    due = now.calibration_due.isoformat() if now.calibration_due else ""
    return [
        Ask("location", "Where it stands", start=now.location),
        Ask("warm_up_min", "Warm-up", start=str(now.warm_up_min), unit="min", required=True, decimal=True),
        Ask("check_limit", "Limit of its check", start=now.check_limit, hint=LIMIT_HINT, required=True, decimal=True),
        Ask("u_instrument", "Its own u", start=now.u_instrument, hint=U_HINT, required=True, decimal=True),
        Ask("calibration_due", "Next calibration", "date", start=due),
    ]


def new(site: Site) -> ActForm:
    """A new instrument."""
    names = ("called", "serial", "principle", "measures_surface_temperature")
    return ActForm(
        question="What measures here?",
        says="Add an instrument",
        button="Add instrument",
        back=reverse("instruments"),
        back_text="Instruments",
        asks=[
            Ask("called", "Name on the bench", required=True, hint="Short, as people say it: OW-1"),
            Ask("serial", "Serial number", required=True),
            Ask("principle", "How it measures", "select", options=PRINCIPLES, required=True, blank="choose"),
            Ask(
                "measures_surface_temperature",
                "Measures the sample's surface temperature",
                "radios",
                "no",
                options=YES_NO,
            ),
            *_setting(),
        ],
        make=lambda f: AddInstrument(site, **{key: f.get(key, "") for key in (*names, *CHANGEABLE)}),
        after=lambda made: made.get_absolute_url(),
        advice=(
            "The limit of the check and the instrument's own u are the laboratory's: set them from your own checks.",
            "Name and principle never change later: another meter is another instrument.",
        ),
    )


def of_instrument(instrument: Instrument, act: str) -> ActForm:
    """A change of one that is there: change, withdraw or return."""
    return {"change": _change, "withdraw": _withdraw, "return": _return}[act](instrument)


def _change(instrument: Instrument) -> ActForm:
    return ActForm(
        question=f"What changed at {instrument.name}?",
        says=f"Change {instrument.name}",
        button="Change instrument",
        back=instrument.get_absolute_url(),
        back_text=instrument.name,
        asks=[Ask("serial", "Serial number", start=instrument.serial, required=True), *_setting(instrument), WHY],
        make=lambda f: ChangeInstrument(instrument, f.get("reason", ""), **{key: f.get(key) for key in CHANGEABLE}),
        after=lambda made: made.get_absolute_url(),
        note="Old and new stay in the trail, with the reason.",
    )


def _withdraw(instrument: Instrument) -> ActForm:
    return ActForm(
        question=f"Must {instrument.name} not be used?",
        says=f"Take {instrument.name} out of use",
        button="Take instrument out of use",
        back=instrument.get_absolute_url(),
        back_text=instrument.name,
        asks=[WHY],
        make=lambda f: WithdrawInstrument(instrument, f.get("reason", "")),
        after=lambda made: made.get_absolute_url(),
        note="Nothing is measured on it until it is returned.",
        danger=True,
    )


def _return(instrument: Instrument) -> ActForm:
    return ActForm(
        question=f"May {instrument.name} be used again?",
        says=f"Return {instrument.name} to use",
        button="Return instrument to use",
        back=instrument.get_absolute_url(),
        back_text=instrument.name,
        asks=[Ask("reason", "What was done, and why it may be used again", required=True)],
        make=lambda f: ReturnInstrument(instrument, f.get("reason", "")),
        after=lambda made: made.get_absolute_url(),
        note=f"It is out of use: {instrument.out_of_use_reason}" if not instrument.in_use else "",
    )
