"""A curve that no law of coming to rest describes, and no known trouble either."""

from __future__ import annotations

from isohume.bench.reading.diagnosis.finding import Finding
from isohume.bench.reading.diagnosis.signs import Signs

_BEYOND_NOISE = 4.0
"""Noise whose neighbours are alike scatters up to 2.6 times as much as they differ (autocorrelation 0.8)."""
_BEYOND_REPEATABILITY = 3.0
_BEYOND_ANY = 6.0  # times the repeatability: whatever the noise is, the instrument is not itself
_BEYOND_ROUNDING = 1.0
"""Times the last digit: rounding alone scatters by 0.3 of it, and a slow curve by steps."""
NOTHING = 0.005
"""No food and no reference solution is so dry (no source)."""
ACTION = "Look at the curve, the cup and the chamber; clean, check the instrument, and read a new portion."


def reads_nothing(signs: Signs) -> Finding | None:
    """It rests at nothing."""
    if not signs.is_over or signs.last > NOTHING:
        return None
    said = f"The last readings stay at {signs.last:.4f}: no sample is as dry as that."
    return Finding("unfamiliar", (said, "A sensor that is not connected reads so too."), ACTION)


def unfamiliar(signs: Signs) -> Finding | None:
    """It scatters about every law of coming to rest by much more than its neighbouring readings differ."""
    likely = max(_BEYOND_NOISE * signs.noise, _BEYOND_REPEATABILITY * signs.repeatability)
    rounded = _BEYOND_ROUNDING * float(signs.last_digit)
    if signs.left < min(likely, max(_BEYOND_ANY * signs.repeatability, rounded)):
        return None
    said = (
        f"About the best curve that comes to rest it scatters by {signs.left:.4f}, "
        f"where neighbouring readings differ by {signs.noise:.4f}.",
        "No known trouble explains its shape.",
    )
    return Finding("unfamiliar", said, ACTION)


def ends_beyond(signs: Signs) -> Finding | None:
    """The curve would end where no water activity lies."""
    if not (signs.is_over and signs.ends_beyond):
        return None
    said = (signs.without_forecast, "No known trouble explains its shape.")
    return Finding("unfamiliar", said, ACTION)
