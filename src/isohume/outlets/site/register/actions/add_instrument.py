"""Add an instrument to the register."""

from __future__ import annotations

from dataclasses import dataclass

from isohume.foundation.quantity.errors import InputError
from isohume.outlets.site.ledger.actions import Action, By, Done
from isohume.outlets.site.people.models import Site
from isohume.outlets.site.people.roles import MANAGER
from isohume.outlets.site.register.actions.fields import needed_code, refuse_taken
from isohume.outlets.site.register.actions.instrument_fields import read_answer, read_fields
from isohume.outlets.site.register.models import Instrument
from isohume.outlets.site.register.models.instruments import PRINCIPLES


@dataclass
class AddInstrument(Action[Instrument]):
    """A meter on the bench, with the laboratory's own limit for its check."""

    name = "instrument_added"
    said = "Added an instrument"
    roles = frozenset({MANAGER})

    at_site: Site
    called: str
    serial: str
    principle: str
    measures_surface_temperature: str = "no"  # yes or no
    location: str = ""
    warm_up_min: str = "30"
    check_limit: str = "0.005"
    u_instrument: str = "0.0015"
    calibration_due: str = ""

    @property
    def site(self) -> Site:
        """The plant it stands in."""
        return self.at_site

    def change(self, by: By) -> Done[Instrument]:
        """Names and serial numbers are each one's own."""
        called = needed_code(self.called, "called", 60, "the instrument's name on the bench")
        refuse_taken(Instrument.objects.filter(site=self.at_site), "name", called, "called", "in this plant")
        if self.principle not in PRINCIPLES:
            raise InputError("principle", self.principle, f"one of {', '.join(PRINCIPLES)}")
        surface = read_answer(self.measures_surface_temperature, "measures_surface_temperature")
        typed = {
            "serial": self.serial,
            "location": self.location,
            "warm_up_min": self.warm_up_min,
            "check_limit": self.check_limit,
            "u_instrument": self.u_instrument,
            "calibration_due": self.calibration_due,
        }
        instrument = Instrument.objects.create(
            site=self.at_site,
            name=called,
            principle=self.principle,
            measures_surface_temperature=surface,
            **read_fields(typed, self.at_site),
        )
        fixed = {"name": called, "principle": self.principle, "measures_surface_temperature": surface}
        return Done(instrument, instrument.ref, details={**fixed, **{key: str(text) for key, text in typed.items()}})
