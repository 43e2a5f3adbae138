"""Traces of invented runs: simple curves with seeded noise, for demonstrations only."""

from __future__ import annotations

import math
import random
from dataclasses import dataclass
from decimal import Decimal

from isohume.bench.reading.settling import Sample

EVERY_S, NOISE = 5, 0.00006


@dataclass(frozen=True, slots=True)
class Curve:
    """Where a run begins and ends, how quickly, and what disturbs it.

    warmer_k: how much warmer than the block the sample's surface is at first; it reads high by 6 % of a_w for each
        kelvin, as the vapour pressure of water has it.
    cools_s: the time in which that warmth falls to 37 %.
    climb_a_min: what a volatile adds each minute, without end.
    """

    begins: float
    ends: float
    tau_s: float = 45.0
    seconds: int = 480
    warmer_k: float = 0.0
    cools_s: float = 150.0
    climb_a_min: float = 0.0


def samples_of(curve: Curve, seed: int, block_c: float = 25.0) -> list[Sample]:
    """One sample every five seconds; the same seed, the same trace."""
    dice = random.Random(seed)
    return [_sample(curve, t, dice.gauss(0.0, NOISE), block_c) for t in range(0, curve.seconds + 1, EVERY_S)]


def _sample(curve: Curve, t: int, noise: float, block_c: float) -> Sample:
    warmer = curve.warmer_k * math.exp(-t / curve.cools_s)
    at_rest = curve.ends + (curve.begins - curve.ends) * math.exp(-t / curve.tau_s)
    a_w = at_rest * (1.0 + 0.06 * warmer) + curve.climb_a_min * t / 60.0 + noise
    sample_c, block = Decimal(f"{block_c + warmer:.1f}"), Decimal(f"{block_c:.1f}")
    return Sample(Decimal(t), Decimal(f"{a_w:.4f}"), sample_c, block, None, "reading")
