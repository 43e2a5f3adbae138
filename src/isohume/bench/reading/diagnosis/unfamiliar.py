"""A curve that no law of coming to rest describes, and no known trouble either."""

from __future__ import annotations

from isohume.bench.reading.diagnosis.finding import Finding
from isohume.bench.reading.diagnosis.signs import Signs

_BEYOND_NOISE = 4.0
"""Noise whose neighbours are alike scatters up to 2.6 times as much as they differ (autocorrelation 0.8)."""
_BEYOND_REPEATABILITY = 3.0
_BEYOND_ANY = 6.0  # times the repeatability: whatever the noise is, the instrument is not itself
ACTION = "Look at the curve, the cup and the chamber; clean, check the instrument, and read a new portion."


def unfamiliar(signs: Signs) -> Finding | None:
    """It scatters about every law of coming to rest by much more than its neighbouring readings differ."""
    likely = max(_BEYOND_NOISE * signs.noise, _BEYOND_REPEATABILITY * signs.repeatability)
    if signs.left < min(likely, _BEYOND_ANY * signs.repeatability):
        return None
    said = (
        f"About the best curve that comes to rest it scatters by {signs.left:.4f}, "
        f"where neighbouring readings differ by {signs.noise:.4f}.",
        "No known trouble explains its shape.",
    )
    return Finding("unfamiliar", said, ACTION)
