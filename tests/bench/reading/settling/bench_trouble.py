"""Traces of each thing that goes right or wrong at the bench, from the physics of generator.py."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from tests.bench.reading.settling.generator import BLOCK_C, Array, Made, _log_uniform, as_read, times

from isohume.foundation.water import saturation_pressure

ROOM = (0.35, 0.6)


def chamber(
    t: Array, surface: Array, begin: float, tau_h: float, tau_y: float, room: Array, tau_leak: float = np.inf
) -> Array:
    """Headspace and sensor, in exact exponential steps of at most half a second."""
    h = y = begin
    out = np.empty_like(t)
    out[0] = y
    for i in range(1, t.size):
        parts = int(np.ceil((t[i] - t[i - 1]) / 0.5))
        d = (t[i] - t[i - 1]) / parts
        rate = 1 / tau_h + 1 / tau_leak
        to = (surface[i] / tau_h + room[i] / tau_leak) / rate
        for _ in range(parts):
            h = to + (h - to) * np.exp(-d * rate)
            y = h + (y - h) * np.exp(-d / tau_y)
        out[i] = y
    return out


def settled(rng: np.random.Generator) -> Made:
    """A quick sample, run until long after it has come to rest."""
    t, a, begin, room = _start(rng, rng.uniform(420, 900))
    ideal = chamber(t, np.full(t.size, a), begin, _log_uniform(rng, 8, 45), rng.uniform(2, 8), room)
    return _with_temperatures(rng, Made(t, as_read(rng, t, ideal, quiet=True), a, room=room), rng.normal() * 0.1)


def slow(rng: np.random.Generator) -> Made:
    """Water moves up from inside for half an hour; somebody stops after five to ten minutes."""
    t, a, begin, room = _start(rng, rng.uniform(300, 600))
    dried = a - rng.choice([-1, 1], p=[0.2, 0.8]) * rng.uniform(0.06, 0.2)
    surface = a + (dried - a) * np.exp(-((t / _log_uniform(rng, 300, 900)) ** rng.uniform(0.7, 1.0)))
    ideal = chamber(t, surface, begin, _log_uniform(rng, 8, 30), rng.uniform(2, 8), room)
    return _with_temperatures(rng, Made(t, as_read(rng, t, ideal, quiet=True), a, room=room), rng.normal() * 0.1)


def stopped_early(rng: np.random.Generator) -> Made:
    """A sample that settles within the usual time, stopped before."""
    tau = _log_uniform(rng, 25, 70)
    t, a, begin, room = _start(rng, tau * rng.uniform(1.5, 3.0))
    begin = a + np.sign(begin - a) * max(abs(begin - a), 0.12)
    ideal = chamber(t, np.full(t.size, a), begin, tau, rng.uniform(2, 8), room)
    return _with_temperatures(rng, Made(t, as_read(rng, t, ideal, quiet=True), a, room=room), rng.normal() * 0.1)


def warm(rng: np.random.Generator, thermometer: bool | None = None) -> Made:
    """A sample warmer than the block: overshoot, then a fall, as long as nothing condenses."""
    a = rng.uniform(0.3, 0.8)
    return _mismatched(rng, a, rng.uniform(1.5, 4.0), thermometer if thermometer is not None else rng.random() < 0.5)


def cold(rng: np.random.Generator) -> Made:
    """A sample from the chiller, with its thermometer: a creep alone could be a slow sample."""
    return _mismatched(rng, rng.uniform(0.3, 0.95), -rng.uniform(1.5, 8.0), True)


def condensation(rng: np.random.Generator) -> Made:
    """A wet, warm sample: water on the block and a plateau near 1; or a drop that falls, and the reading jumps."""
    if rng.random() < 0.5:
        t, a, begin, room = _start(rng, rng.uniform(300, 700), rng.uniform(0.93, 0.99))
        surface = np.full(t.size, rng.uniform(0.992, 1.003))
        ideal = chamber(t, surface, begin, _log_uniform(rng, 8, 30), rng.uniform(2, 8), room)
        return Made(t, as_read(rng, t, ideal, quiet=True), a)
    t, a, begin, room = _start(rng, rng.uniform(300, 700))
    ideal = chamber(t, np.full(t.size, a), begin, _log_uniform(rng, 8, 40), rng.uniform(2, 8), room)
    falls = rng.uniform(0.35, 0.85) * t[-1]
    ideal = ideal + np.where(t >= falls, rng.uniform(0.04, 0.3) * np.exp(-(t - falls) / rng.uniform(200, 2000)), 0.0)
    return Made(t, as_read(rng, t, np.minimum(ideal, 1.005), quiet=True), a)


def leak(rng: np.random.Generator) -> Made:
    """A lid that does not close: the reading wanders to the room, which the sheet of the room's humidity shows."""
    t, a, begin, _ = _start(rng, rng.uniform(500, 900))
    humidity = a + rng.choice([-1, 1]) * rng.uniform(0.15, 0.5)
    humidity = float(np.clip(humidity if 0.1 < humidity < 0.8 else 2 * a - humidity, 0.1, 0.8))
    # a room's humidity goes up and down with its door and its air conditioning
    room = humidity + rng.uniform(0.02, 0.05) * np.sin(2 * np.pi * t / rng.uniform(90, 300) + rng.uniform(0, 6.3))
    surface = humidity + (a - humidity) * np.exp(-t / _log_uniform(rng, 2500, 9000))
    ideal = chamber(t, surface, begin, _log_uniform(rng, 8, 30), rng.uniform(2, 8), room, _log_uniform(rng, 100, 400))
    return _with_temperatures(rng, Made(t, as_read(rng, t, ideal, quiet=True), a, room=room), rng.normal() * 0.1)


def volatile(rng: np.random.Generator) -> Made:
    """Spice oil or alcohol gathers on the sensor: climbs, and the climb does not decay. No sheet of the room."""
    t, a, begin, room = _start(rng, rng.uniform(450, 900), rng.uniform(0.2, 0.75))
    ideal = chamber(t, np.full(t.size, a), begin, _log_uniform(rng, 8, 30), rng.uniform(2, 8), room)
    climb = _log_uniform(rng, 1.5e-5, 1e-4) * t  # 0.0009 to 0.006 a minute
    return Made(t, as_read(rng, t, ideal + climb, quiet=True), a)


def unfamiliar(rng: np.random.Generator) -> Made:
    """A loose contact, a knock, a draught through an open chamber: nothing that comes to rest."""
    t, a, begin, room = _start(rng, rng.uniform(300, 700))
    ideal = chamber(t, np.full(t.size, a), begin, _log_uniform(rng, 8, 40), rng.uniform(2, 8), room)
    waves = rng.uniform(0.01, 0.04) * np.sin(2 * np.pi * t / rng.uniform(40, 120) + rng.uniform(0, 6))
    return Made(t, as_read(rng, t, ideal + waves, quiet=True), a)


MADE: dict[str, Callable[[np.random.Generator], Made]] = {
    "settled": settled,
    "slow": slow,
    "warm sample": warm,
    "cold sample": cold,
    "condensation": condensation,
    "leak": leak,
    "volatile": volatile,
    "stopped early": stopped_early,
    "unfamiliar": unfamiliar,
}


def _start(rng: np.random.Generator, end_s: float, a_w: float | None = None) -> tuple[Array, float, float, Array]:
    t = times(rng, end_s)
    a = float(rng.uniform(0.15, 0.95)) if a_w is None else a_w
    begin = float(np.clip(a + rng.choice([-1, 1], p=[0.7, 0.3]) * rng.uniform(0.05, 0.4), 0.05, 0.97))
    return t, a, begin, np.full(t.size, rng.uniform(*ROOM))


def _mismatched(rng: np.random.Generator, a: float, excess_k: float, thermometer: bool) -> Made:
    t = times(rng, rng.uniform(400, 800))
    excess = excess_k * np.exp(-t / _log_uniform(rng, 90, 300))
    over = saturation_pressure(BLOCK_C + 273.15 + excess) / float(saturation_pressure(BLOCK_C + 273.15))
    begin = float(np.clip(a - rng.uniform(0.1, 0.3), 0.05, 0.9))
    room = np.full(t.size, rng.uniform(*ROOM))
    ideal = chamber(t, np.minimum(a * over, 0.985), begin, _log_uniform(rng, 8, 25), rng.uniform(2, 6), room)
    made = Made(t, as_read(rng, t, ideal, quiet=True), a)
    return _with_temperatures(rng, made, excess) if thermometer else made


def _with_temperatures(rng: np.random.Generator, made: Made, excess: Array | float) -> Made:
    n = made.elapsed_s.size
    made.block_c = np.round(BLOCK_C + rng.normal(size=n) * 0.01, 2)
    made.sample_c = np.round(BLOCK_C + excess + rng.normal(size=n) * 0.02, 2)
    return made
