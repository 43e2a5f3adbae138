"""One more sample of a trace: the forecast's update against a refit of the same trace with scipy's curve_fit.

Processor time of the thread, so that other work on the machine counts little. An update is the mean over a trace's 600
samples, squares laid anew included. A refit is one call of curve_fit on the 600 readings: bounded, from a start taken
from the data, the model in numpy, no derivatives given. The forecast mixes six laws; a person who wants what it says
fits six.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from scipy.optimize import curve_fit

from isohume.bench.reading.settling import Forecaster, prepare_forecast

SAMPLES, TRACES, INSTRUMENTS = 600, 12, 50
Array = np.ndarray


@dataclass(frozen=True)
class Law:
    """A curve of end, heights and shapes; what share of the way each height begins with; each shape's start, bounds."""

    curve: Callable[..., Array]
    shares: tuple[float, ...]
    shapes: tuple[tuple[float, float, float], ...]


def _one(t: Array, end: float, b: float, c: float, p: float, q: float) -> Array:
    return end + b * np.exp(-t / p) + c * np.exp(-t / q)


def _stretched(t: Array, end: float, b: float, tau: float, beta: float) -> Array:
    return end + b * np.exp(-((t / tau) ** beta))


def _rates(t: Array, end: float, b: float, tau: float, nu: float) -> Array:
    return end + b * (1.0 + t / (nu * tau)) ** -nu


def _diffusion(t: Array, end: float, b: float, tau: float, apart: float) -> Array:
    m = 1.0 + apart * np.arange(10)
    return end + b * (np.exp(-np.outer(t, m * m / tau)) @ (1.0 / (m * m))) / float((1.0 / (m * m)).sum())


def _sizes(t: Array, end: float, b: float, c: float, thin: float, thick: float) -> Array:
    return _diffusion(t, end, b, thin, 2.0) + _diffusion(t, 0.0, c, thick, 2.0)


LAWS = {
    "two exponentials": Law(_one, (0.7, 0.3), ((30.0, 0.1, 1e4), (150.0, 0.1, 1e4))),
    "one exponential behind a sensor": Law(_one, (1.0, 0.0), ((60.0, 0.1, 1e4), (5.0, 0.1, 50.0))),
    "stretched exponential": Law(_stretched, (1.0,), ((60.0, 0.1, 1e4), (0.8, 0.2, 1.2))),
    "spread of rates": Law(_rates, (1.0,), ((40.0, 0.1, 1e4), (3.0, 0.2, 100.0))),
    "diffusion, ten modes": Law(_diffusion, (1.0,), ((100.0, 0.1, 1e5), (2.0, 0.5, 3.5))),
    "two sizes, ten modes each": Law(_sizes, (0.7, 0.3), ((60.0, 0.1, 1e5), (200.0, 0.1, 1e5))),
}


def main() -> None:
    """Microseconds an update, and the ratio to each way of refitting."""
    prepare_forecast()
    rng, t = np.random.default_rng(1), np.arange(float(SAMPLES))
    traces = [_trace(rng, t) for _ in range(TRACES)]
    took = [_updates(t, y) for y in traces]
    mean = float(np.median(took))
    together = _together(t, traces)
    print(f"update of the forecast, median {1e6 * mean:.1f} us a sample, best {1e6 * min(took):.1f} us")
    print(
        f"{INSTRUMENTS} instruments in turn in one process: {1e6 * together:.1f} us a sample; at 1 Hz "
        f"{100 * INSTRUMENTS * together:.2f} % of a core\n"
    )
    print("| refit of the whole trace | us | times an update |\n|---|---:|---:|")
    total = 0.0
    for name, law in LAWS.items():
        one = float(np.median([_timed(lambda y=y, law=law: _refit(t, y, law)) for y in traces]))
        total += one
        print(f"| {name} | {1e6 * one:.0f} | {one / mean:.0f} |")
    print(f"| all six, as the forecast mixes them | {1e6 * total:.0f} | {total / mean:.0f} |")


def _trace(rng: np.random.Generator, t: Array) -> Array:
    quick = rng.uniform(10, 50)
    ideal = 0.6 - 0.2 * np.exp(-t / quick) - 0.05 * np.exp(-t / (quick * rng.uniform(3, 6)))
    return np.round(ideal + rng.normal(size=t.size) * 2e-4, 4)


def _updates(t: Array, y: Array) -> float:
    forecaster = Forecaster()
    return _timed(lambda: [forecaster.update(a, b) for a, b in zip(t.tolist(), y.tolist(), strict=True)]) / t.size


def _together(t: Array, traces: list[Array]) -> float:
    """A sample of each instrument, then the next of each: their rooms push each other out of the nearest memory."""
    live = [(Forecaster(), traces[n % TRACES].tolist()) for n in range(INSTRUMENTS)]

    def all_samples() -> None:
        for n, at in enumerate(t.tolist()):
            for forecaster, readings in live:
                forecaster.update(at, readings[n])

    return _timed(all_samples) / (t.size * INSTRUMENTS)


def _timed(what: Callable[[], object]) -> float:
    begin = time.thread_time()
    what()
    return time.thread_time() - begin


def _refit(t: Array, y: Array, law: Law) -> None:
    heights = len(law.shares)
    begin = (y[-1], *(share * (y[0] - y[-1]) for share in law.shares), *(shape[0] for shape in law.shapes))
    low = (-1.0, *(-2.0,) * heights, *(shape[1] for shape in law.shapes))
    high = (2.0, *(2.0,) * heights, *(shape[2] for shape in law.shapes))
    curve_fit(law.curve, t, y, p0=begin, bounds=(low, high))


if __name__ == "__main__":
    main()
