"""What a bottle should read at the temperature just typed, in one line beside the field."""

from __future__ import annotations

from isohume.bench.reading.check_file import BENCH_HIGH_C, BENCH_LOW_C
from isohume.foundation.quantity.errors import InputError
from isohume.foundation.quantity.typed import read_temperature_c
from isohume.foundation.solutions import reference_value
from isohume.outlets.site.checks.bottles import bottle_named
from isohume.outlets.site.people.models import Site


def expected_at(bottle: str, temperature_c: str, site: Site) -> str:
    """The words beside a row; "" where nothing is typed, what is missing where something is."""
    try:
        found = bottle_named(bottle, "bottle", site)
        if found is None:
            return ""
        lot = found.solution_lot
        if not temperature_c.strip():
            return f"{lot.name}: measure its temperature, and its expected value is shown here."
        t = float(read_temperature_c(temperature_c, low=BENCH_LOW_C, high=BENCH_HIGH_C))
        value = reference_value(lot.solution, t, float(lot.molality) if lot.molality else None)
    except InputError as error:
        return f"No expected value: {error.allowed}."
    u = f", u {value.u:.4f}" if value.u is not None else ", its uncertainty is not published here"
    return f"{lot.name} should read {value.a_w:.4f} at {t:.1f} °C{u} ({value.source})."
