"""Isotherms: the panel of eleven, GAB alone and the bootstrap of the panel against public libraries on the same points.

Every comparison runs in this one process on the same data; both optima are compared before any time is printed. The
peers are benchmark dependencies only: `pip install isohume[bench]`.
"""

from __future__ import annotations

import logging
import os
import statistics
import time
import warnings
from collections.abc import Callable
from importlib.metadata import version
from typing import Any

import lmfit
import numpy as np
from numpy.typing import NDArray
from proofs.isotherm_sets import EQUATIONS

from isohume.product.sorption import PANEL, Points, bootstrap, fit, fit_panel

_Array = NDArray[np.float64]
# lmfit's starting values: what a person would type, (value, least, greatest) in the order of the equation
STARTS: dict[str, dict[str, tuple[float, float, float]]] = {
    "gab": {"m": (0.07, 0, np.inf), "c": (10, 0, np.inf), "k": (0.9, 0, 1)},
    "bet": {"m": (0.07, 0, np.inf), "c": (10, 0, np.inf)},
    "oswin": {"A": (0.1, 0, np.inf), "b": (0.4, 0, np.inf)},
    "halsey": {"A": (0.01, 0, np.inf), "b": (1.5, 0, np.inf)},
    "henderson": {"A": (10, 0, np.inf), "b": (1.5, 0, np.inf)},
    "chung_pfost": {"A": (4, 0, np.inf), "b": (15, 0, np.inf)},
    "smith": {"A": (0.03, -np.inf, np.inf), "b": (0.1, 0, np.inf)},
    "peleg": {"A": (0.1, 0, np.inf), "b": (0.3, 0, np.inf), "c": (0.5, 0, 1), "d": (8, 1, np.inf)},
    "iglesias_chirife": {"A": (0.05, -np.inf, np.inf), "b": (0.03, 0, np.inf)},
    "caurie": {"A": (-3, -np.inf, np.inf), "b": (2, 0, np.inf)},
    "lewicki": {"f": (0.1, 0, np.inf), "g": (0.5, 0, 1), "h": (5, 0, np.inf)},
}


def measured(n: int) -> tuple[_Array, _Array]:
    """n points of a GAB isotherm with 2 % noise."""
    rng = np.random.default_rng(20251125)
    a = np.linspace(0.08, 0.93, n)
    return a, EQUATIONS["gab"](a, 0.0658, 12.4, 0.93) * (1.0 + 0.02 * rng.standard_normal(n))


def median_of(work: Callable[[], Any], rounds: int) -> float:
    """The median seconds of a call, after one that is not counted."""
    work()
    spent = []
    for _ in range(rounds):
        started = time.perf_counter()
        work()
        spent.append(time.perf_counter() - started)
    return statistics.median(spent)


def rival_panel(a: _Array, x: _Array) -> dict[str, float]:
    """The same eleven by lmfit with its defaults, covariance included; the sums of squares it ends at."""
    sums = {}
    for key, starts in STARTS.items():
        inside = a <= 0.5 if key == "bet" else np.ones(a.size, bool)
        model = lmfit.Model(EQUATIONS[key])
        parameters = model.make_params(
            **{name: {"value": value, "min": low, "max": high} for name, (value, low, high) in starts.items()}
        )
        sums[key] = float(model.fit(x[inside], parameters, a=a[inside]).chisqr)
    return sums


def compare_sums(a: _Array, x: _Array) -> str:
    """Where the two ended: ours must not lie above; the rival may have stopped early."""
    ours = {each.model.key: each.sse for each in fit_panel(Points(a, x)).fits}
    rival = rival_panel(a, x)
    worse = [key for key in PANEL if ours[key] > rival[key] * (1.0 + 1e-6)]
    short = [key for key in PANEL if rival[key] > ours[key] * (1.0 + 1e-6)]
    assert not worse, f"the rival found a better optimum for {worse}"
    return f"same optimum in {len(PANEL) - len(short)} of {len(PANEL)}, rival short in {', '.join(short) or 'none'}"


def panel_row(n: int, wanted: int) -> str:
    """The panel at n points."""
    a, x = measured(n)
    points = Points(a, x)
    agreement = compare_sums(a, x)
    ours, rival = median_of(lambda: fit_panel(points), 400), median_of(lambda: rival_panel(a, x), 7)
    return (
        f"| panel of 11, {n} points, covariance | {1e6 * ours:.0f} us | lmfit {1e3 * rival:.1f} ms |"
        f" {rival / ours:.0f} | {wanted} | {agreement} |"
    )


def bootstrap_row(replicates: int, wanted: int) -> str:
    """The bootstrap of the panel at 12 points; the rival's loop is extrapolated from one panel."""
    a, x = measured(12)
    panel = fit_panel(Points(a, x))
    ours = median_of(lambda: bootstrap(panel, replicates), 5)
    rival = replicates * median_of(lambda: rival_panel(a, x), 5)
    return (
        f"| bootstrap of the panel, {replicates} replicates, 12 points | {1e3 * ours:.0f} ms |"
        f" lmfit loop {rival:.0f} s (extrapolated) | {rival / ours:.0f} | {wanted} | |"
    )


def gab_row(wanted: int) -> str:
    """GAB alone against the isotherm library."""
    import pygaps

    pygaps.logger.setLevel(logging.ERROR)
    a, x = measured(12)
    points = Points(a, x)

    def rival() -> Any:
        return pygaps.ModelIsotherm(
            pressure=a, loading=1000.0 * x, model="GAB", material="invented", adsorbate="water",
            temperature=298.15, temperature_unit="K",
            pressure_mode="relative", pressure_unit=None, loading_basis="mass", loading_unit="mg",
            material_basis="mass", material_unit="g",
        )  # fmt: skip

    found, other = fit(points, "gab").parameters, rival().model.params
    rivals = (other["n_m"] / 1000.0, other["C"], other["K"])
    alike = np.allclose(list(found.values()), rivals, rtol=1e-3)
    agreement = "same optimum" if alike else f"rival's parameters {rivals}"
    ours, theirs = median_of(lambda: fit_panel(points, ("gab",)), 400), median_of(rival, 7)
    return (
        f"| GAB, 12 points, covariance | {1e6 * ours:.0f} us | pygaps {1e3 * theirs:.1f} ms | {theirs / ours:.0f} |"
        f" {wanted} | {agreement} |"
    )


def main() -> None:
    """Prints the table."""
    warnings.simplefilter("ignore")
    print(f"{os.cpu_count()} cores; lmfit {version('lmfit')}, pygaps {version('pygaps')}, numba {version('numba')}.\n")
    print("| work | isohume | peer | times faster | wanted | optimum |\n|---|---|---|---:|---:|---|")
    for row in (panel_row(12, 300), panel_row(60, 120), gab_row(1000), bootstrap_row(2000, 1000)):
        print(row)


if __name__ == "__main__":
    main()
