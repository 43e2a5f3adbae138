"""Re-reads that climb, which no single trace shows: what gathers on the sensor adds up from read to read."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from isohume.bench.reading.diagnosis.exchange import VOLATILE
from isohume.foundation.quantity.errors import InputError

LEAST_READS = 3
_SURE = 3.0


@dataclass(frozen=True, slots=True)
class ClimbingReReads:
    """Reads of one cup that climb from one to the next."""

    reads: int
    rise: float
    u_rise: float
    evidence: tuple[str, ...]
    action: str = VOLATILE


def climbing_re_reads(values: Sequence[float], u_reading: float) -> ClimbingReReads | None:
    """Whether the reads of one cup on one instrument climb, each above the one before.

        x_1 < x_2 < ... < x_n,  n >= 3,  x_n - x_1 > 3 sqrt(2) u
    values: the reads of one cup in the order they were read [1].
    u_reading: standard uncertainty of a reading [1], above 0.
    Returns: the ClimbingReReads [1]; None where they do not climb, or are fewer than three.
    Raises: InputError for an uncertainty that is not above zero.
    Example: cloves read 0.52, 0.54, 0.555 and 0.57 with u 0.003 climb by 0.05; 0.480, 0.481, 0.479 do not.
    Source: none (common practice).
    """
    if not 0.0 < u_reading < 0.1:
        raise InputError("u_reading", u_reading, "above 0, below 0.1")
    if len(values) < LEAST_READS:
        return None
    rise, u_rise = values[-1] - values[0], math.sqrt(2.0) * u_reading
    climbs = all(later > before for before, later in pairwise(values))
    if not climbs or rise <= _SURE * u_rise:
        return None
    said = ", ".join(f"{value:.4f}" for value in values)
    evidence = (
        f"{len(values)} reads of one cup climb from one to the next: {said}.",
        "A cup that is read again gives the same number or dries a little; a substance on the sensor adds up.",
    )
    return ClimbingReReads(len(values), rise, u_rise, evidence)
