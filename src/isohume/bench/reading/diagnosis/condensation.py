"""Water in the chamber: a plateau near 1, or a reading that jumps up."""

from __future__ import annotations

import numpy as np

from isohume.bench.reading.diagnosis.finding import Finding
from isohume.bench.reading.diagnosis.signs import Signs

PLATEAU = 0.99
"""No food but the freshest reads above it, and water on block or mirror does."""
ACTION = (
    "Take the sample out, dry the chamber, discard the portion. Let a new portion come to the block's temperature in "
    "its closed cup, and check the instrument before it is read."
)
LEAST_JUMP = 0.01
_JUMPS = 15.0  # times the noise
_STEEP = 4.0  # times what the readings before would have done in the same time


def condensation(signs: Signs) -> Finding | None:
    """A plateau near 1 at the end, or a jump upward after the first minute."""
    values = signs.trace.a_w
    late = values[-max(5, values.size // 4) :]
    if float(late.mean()) >= PLATEAU:
        said = (
            f"The last readings stay at {late.mean():.4f}, near 1: water on the block or in the cup.",
            "Pure water and the wettest food read so too: a second portion tells.",
        )
        return Finding("condensation", said, ACTION)
    jump = _jump(signs)
    if jump is None:
        return None
    at, height = jump
    jumps = f"At {at:.0f} s the reading jumps up by {height:.4f}, which no sample does by itself."
    return Finding("condensation", (jumps,), ACTION)


def _jump(signs: Signs) -> tuple[float, float] | None:
    """The steepest rise between three readings and the next three, if it is a jump."""
    t, y = signs.part(60.0, np.inf)
    if y.size < 9:
        return None
    means = (y[:-2] + y[1:-1] + y[2:]) / 3.0
    rise = means[3:] - means[:-3]
    top = int(np.argmax(rise[2:-2])) + 2 if rise.size > 6 else int(np.argmax(rise))
    around = np.delete(rise, np.arange(max(top - 3, 0), min(top + 4, rise.size)))
    usual = float(np.abs(around).max()) if around.size else 0.0
    height = float(rise[top])
    if height < max(LEAST_JUMP, _JUMPS * signs.noise) or height < _STEEP * usual:
        return None
    return float(t[top + 3]), height
