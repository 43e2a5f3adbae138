"""What is put into the invented instrument, and what it then shows: simple curves, seeded, for demonstrations only."""

from __future__ import annotations

import math
import random
import re
from collections.abc import Iterator
from dataclasses import dataclass

from isohume.foundation.quantity.errors import InputError

KINDS = ("plain", "slow", "warm", "cold", "leak", "volatile", "wet")
USUAL_S, EVERY_S = 300.0, 2.0
BLOCK_C, ROOM = 25.0, 0.45
NOISE, MEMORY = 0.00015, 0.6  # of the shown a_w, and how much of it stays until the next reading
PER_KELVIN = 0.06  # of a_w, for a sample warmer than the block
CUP = re.compile(r"(0?\.\d{1,4}|1(?:\.0{1,4})?)(?:\s+([a-z]+))?(?:\s+(\d{1,5})\s*s)?", re.ASCII)
ALLOWED = (
    f'a_w, how it behaves and how long, such as "0.7528", "0.632 slow" or "0.52 volatile 600 s"; {", ".join(KINDS)}'
)


@dataclass(frozen=True, slots=True)
class Cup:
    """A cup: where its reading will end, how it gets there, and when it is taken out."""

    a_w: float
    kind: str = "plain"
    seconds: float = USUAL_S


@dataclass(frozen=True, slots=True)
class Shown:
    """One reading, as the instrument shows it."""

    elapsed_s: str
    a_w: str
    sample_temperature_c: str
    block_temperature_c: str
    room_humidity: str
    state: str


def read_cup(text: str, field: str = "cups") -> Cup:
    """A cup from words.

    Raises: InputError.
    """
    found = CUP.fullmatch(text.strip().lower())
    kind = (found and found.group(2)) or "plain"
    if found is None or kind not in KINDS:
        raise InputError(field, text, ALLOWED)
    return Cup(float(found.group(1)), kind, float(found.group(3) or USUAL_S))


def readings_of(cup: Cup, seed: int, number: int, every_s: float = EVERY_S) -> Iterator[Shown]:
    """The readings of a run, the same for the same seed and number."""
    chance = random.Random(f"{seed}:{number}")
    begin, noise, before = cup.a_w - chance.uniform(0.08, 0.2) * (1 if cup.a_w > 0.3 else -1), 0.0, None
    for i in range(int(cup.seconds / every_s) + 1):
        t = i * every_s
        difference = _difference(cup.kind, t)
        noise = MEMORY * noise + NOISE * chance.gauss(0, 1)
        a_w = min(max(_true(cup, begin, t) * (1 + PER_KELVIN * difference) + noise, 0.0), 1.0)
        state = "steady" if before is not None and abs(a_w - before) < 2 * NOISE else "moving"
        before = a_w
        yield Shown(
            f"{t:.1f}",
            f"{a_w:.4f}",
            f"{BLOCK_C + difference + chance.gauss(0, 0.005):.2f}",
            f"{BLOCK_C + chance.gauss(0, 0.005):.2f}",
            f"{ROOM + chance.gauss(0, 0.002):.3f}",
            state,
        )


def _difference(kind: str, t: float) -> float:
    """How much warmer the sample is than the block."""
    begun = {"warm": 2.0, "cold": -3.0}.get(kind, 0.1)
    return begun * math.exp(-t / 240)


def _true(cup: Cup, begin: float, t: float) -> float:
    """The headspace without noise."""
    quick, slow = math.exp(-t / 45), math.exp(-t / 400)
    left = 0.4 * quick + 0.6 * slow if cup.kind == "slow" else quick
    value = cup.a_w + (begin - cup.a_w) * left
    if cup.kind == "leak":
        value += (ROOM - cup.a_w) * 0.3 * (1 - math.exp(-t / 600))
    elif cup.kind == "volatile":
        value += 0.00012 * t
    elif cup.kind == "wet" and t > 60:
        value = 1.0 - (1.0 - value) * math.exp(-(t - 60) / 15)
    return value
