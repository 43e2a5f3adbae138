"""One more sample of a trace: the forecast's update against a refit of the same trace with scipy's curve_fit."""

from __future__ import annotations

import time
from collections.abc import Callable

import numpy as np
from scipy.optimize import curve_fit

from isohume.bench.reading.settling import Forecaster, prepare_forecast

SAMPLES, TRACES = 600, 12


def main() -> None:
    """Microseconds an update, and the ratio to each way of refitting."""
    prepare_forecast()
    rng, t = np.random.default_rng(1), np.arange(float(SAMPLES))
    traces = [_trace(rng, t) for _ in range(TRACES)]
    own = min(_updates(t, y) for y in traces)
    mean = float(np.median([_updates(t, y) for y in traces]))
    print(f"update of the forecast, median {1e6 * mean:.0f} us a sample, best {1e6 * own:.0f} us")
    print(f"50 instruments at 1 Hz: {100 * 50 * mean:.2f} % of a core\n")
    print("| refit of the whole trace | us | times an update |\n|---|---:|---:|")
    for name, refit in (("two exponentials, bounded", _pair), ("stretched exponential, bounded", _stretched)):
        took = float(np.median([_timed(lambda y=y, refit=refit: refit(t, y)) for y in traces]))
        print(f"| {name} | {1e6 * took:.0f} | {took / mean:.0f} |")


def _trace(rng: np.random.Generator, t: np.ndarray) -> np.ndarray:
    quick = rng.uniform(10, 50)
    ideal = 0.6 - 0.2 * np.exp(-t / quick) - 0.05 * np.exp(-t / (quick * rng.uniform(3, 6)))
    return np.round(ideal + rng.normal(size=t.size) * 2e-4, 4)


def _updates(t: np.ndarray, y: np.ndarray) -> float:
    forecaster = Forecaster()
    return _timed(lambda: [forecaster.update(a, b) for a, b in zip(t, y, strict=True)]) / t.size


def _timed(what: Callable[[], object]) -> float:
    begin = time.perf_counter()
    what()
    return time.perf_counter() - begin


def _pair(t: np.ndarray, y: np.ndarray) -> None:
    def curve(t: np.ndarray, end: float, b: float, p: float, c: float, q: float) -> np.ndarray:
        return end + b * np.exp(-t / p) + c * np.exp(-t / q)

    way = y[0] - y[-1]
    begin, low, high = (y[-1], 0.7 * way, 30.0, 0.3 * way, 150.0), (-1, -2, 0.1, -2, 0.1), (2, 2, 1e4, 2, 1e4)
    curve_fit(curve, t, y, p0=begin, bounds=(low, high))


def _stretched(t: np.ndarray, y: np.ndarray) -> None:
    def curve(t: np.ndarray, end: float, b: float, tau: float, beta: float) -> np.ndarray:
        return end + b * np.exp(-((t / tau) ** beta))

    begin, low, high = (y[-1], y[0] - y[-1], 60.0, 0.8), (-1, -2, 0.1, 0.2), (2, 2, 1e4, 1.2)
    curve_fit(curve, t, y, p0=begin, bounds=(low, high))


if __name__ == "__main__":
    main()
