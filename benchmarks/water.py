"""Vapour pressure and dew point against CoolProp and iapws: `python benchmarks/water.py`.

Within a table the same temperatures go through every routine, in one run; each figure is the best of several
passes, in nanoseconds a value. The peers answer far more questions than these two; the ratios speak
of this work only. CoolProp is asked in two ways: by its ready function and, faster, by one state object that
is used again.
"""

from __future__ import annotations

import importlib.metadata
import platform
import time
from collections.abc import Callable, Sequence
from typing import Any

import CoolProp
import numpy as np
from CoolProp.CoolProp import PropsSI
from iapws import IAPWS95
from iapws.iapws97 import _PSat_T, _TSat_P

from isohume.foundation import water

MANY = np.random.default_rng(7).uniform(274.0, 372.0, 100_000)
ONE_BY_ONE = MANY[:2_000].tolist()
A_W = 0.9
BENCH = np.random.default_rng(8).uniform(283.15, 313.15, 100_000)
BENCH_ONE_BY_ONE = BENCH[:2_000].tolist()
STATE = CoolProp.AbstractState("HEOS", "Water")
Timed = tuple[str, Callable[[], Any], int]


def best_ns(work: Callable[[], Any], values: int, passes: int = 5) -> float:
    """Nanoseconds a value, the best of several passes after one that warms up."""
    work()
    times = []
    for _ in range(passes):
        start = time.perf_counter_ns()
        work()
        times.append(time.perf_counter_ns() - start)
    return min(times) / values


def state_pressure(temperature_k: float) -> float:
    """Saturation pressure by IAPWS-95 through the state object."""
    STATE.update(CoolProp.QT_INPUTS, 0.0, temperature_k)
    return float(STATE.p())


def state_dew_point(a_w: float, temperature_k: float) -> float:
    """Dew point by IAPWS-95 through the state object."""
    STATE.update(CoolProp.PQ_INPUTS, a_w * state_pressure(temperature_k), 0.0)
    return float(STATE.T())


def props_dew_point(temperature_k: Any, fluid: str) -> Any:
    """Dew point by the ready function; takes floats and arrays."""
    return PropsSI("T", "P", A_W * PropsSI("P", "T", temperature_k, "Q", 0, fluid), "Q", 0, fluid)


def pressure_of_arrays() -> tuple[list[Timed], list[Timed]]:
    """Ours and the peers' on the same 100,000 temperatures."""
    n, listed = MANY.size, MANY.tolist()
    ours = [
        ("isohume reference form", lambda: water.saturation_pressure(MANY), n),
        ("isohume fast form", lambda: water.saturation_pressure_fast(MANY), n),
    ]
    peers = [
        ("CoolProp IAPWS-95, ready function", lambda: PropsSI("P", "T", MANY, "Q", 0, "HEOS::Water"), n),
        ("CoolProp IF97, ready function", lambda: PropsSI("P", "T", MANY, "Q", 0, "IF97::Water"), n),
        ("iapws IF97, a loop", lambda: [_PSat_T(t) for t in listed], n),
        ("iapws Wagner-Pruss, a loop", lambda: [IAPWS95._Vapor_Pressure(t) for t in listed], n),
    ]
    return ours, peers


def pressure_of_floats() -> tuple[list[Timed], list[Timed]]:
    """Ours and the peers', one float at a time."""
    n = len(ONE_BY_ONE)
    ours = [
        ("isohume reference form", lambda: [water.saturation_pressure(t) for t in ONE_BY_ONE], n),
        ("isohume fast form", lambda: [water.saturation_pressure_fast(t) for t in ONE_BY_ONE], n),
    ]
    peers = [
        (
            "CoolProp IAPWS-95, ready function",
            lambda: [PropsSI("P", "T", t, "Q", 0, "HEOS::Water") for t in ONE_BY_ONE],
            n,
        ),
        ("CoolProp IAPWS-95, state object", lambda: [state_pressure(t) for t in ONE_BY_ONE], n),
        (
            "CoolProp IF97, ready function",
            lambda: [PropsSI("P", "T", t, "Q", 0, "IF97::Water") for t in ONE_BY_ONE],
            n,
        ),
        ("iapws IF97", lambda: [_PSat_T(t) for t in ONE_BY_ONE], n),
        ("iapws Wagner-Pruss", lambda: [IAPWS95._Vapor_Pressure(t) for t in ONE_BY_ONE], n),
    ]
    return ours, peers


def dew_points_of_arrays() -> tuple[list[Timed], list[Timed]]:
    """Ours and the peer's on the same 100,000 temperatures."""
    n = BENCH.size
    ours = [("isohume", lambda: water.dew_point(A_W, BENCH), n)]
    peers = [("CoolProp IAPWS-95, ready function", lambda: props_dew_point(BENCH, "HEOS::Water"), n)]
    return ours, peers


def dew_points_of_floats() -> tuple[list[Timed], list[Timed]]:
    """Ours and the peers', one float at a time."""
    n = len(BENCH_ONE_BY_ONE)
    ours = [("isohume", lambda: [water.dew_point(A_W, t) for t in BENCH_ONE_BY_ONE], n)]
    peers = [
        (
            "CoolProp IAPWS-95, ready function",
            lambda: [props_dew_point(t, "HEOS::Water") for t in BENCH_ONE_BY_ONE],
            n,
        ),
        (
            "CoolProp IAPWS-95, state object",
            lambda: [state_dew_point(A_W, t) for t in BENCH_ONE_BY_ONE],
            n,
        ),
        ("iapws IF97", lambda: [_TSat_P(A_W * _PSat_T(t)) for t in BENCH_ONE_BY_ONE], n),
    ]
    return ours, peers


def table(title: str, ours: Sequence[Timed], peers: Sequence[Timed]) -> None:
    """Prints nanoseconds a value and how many times longer each routine takes than each of ours."""
    measured = [(name, best_ns(work, values)) for name, work, values in (*ours, *peers)]
    own = measured[: len(ours)]
    print(f"\n### {title}\n")
    print("| routine | ns a value | " + " | ".join(f"over {name}" for name, _ in own) + " |")
    print("|---|---:|" + "---:|" * len(own))
    for name, ns in measured:
        print(f"| {name} | {ns:.0f} | " + " | ".join(f"{ns / mine:.2f}" for _, mine in own) + " |")


def main() -> None:
    """Prints the four tables."""
    peers = ", ".join(f"{name} {importlib.metadata.version(name)}" for name in ("CoolProp", "iapws", "numpy"))
    print(f"Python {platform.python_version()}, {peers}; `python benchmarks/water.py`")
    table("Saturation pressure, arrays", *pressure_of_arrays())
    table("Saturation pressure, one float at a time", *pressure_of_floats())
    table(f"Dew point at a_w {A_W}, arrays", *dew_points_of_arrays())
    table(f"Dew point at a_w {A_W}, one float at a time", *dew_points_of_floats())


if __name__ == "__main__":
    main()
