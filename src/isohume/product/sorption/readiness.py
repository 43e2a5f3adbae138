"""Compiling the kernels once, visibly."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from isohume.product.sorption.isotherm_fit import fit
from isohume.product.sorption.kernels.compiled import are_ready, mark_ready
from isohume.product.sorption.panel import fit_panel
from isohume.product.sorption.points import Points
from isohume.product.sorption.resampling import bootstrap


def kernels_are_ready() -> bool:
    """Whether the numerical kernels were compiled on this computer before.

        True once `prepare_kernels` has run for this version of isohume
    Returns: True or False.
    Source: none (a state of this computer).
    """
    return are_ready("moisture")


def prepare_kernels(tell: Callable[[str], object], errors_in_both: bool = False) -> None:
    """Compiles the numerical kernels where that was not done yet, and says so first.

        each kernel is run once on a small set of points
    tell: called with one line of text [text] before the waiting starts; not called where all is ready.
    errors_in_both: whether those of fits in a_w, of errors in both and of profiles are wanted too [1].
    Returns: nothing.
    Source: none (a state of this computer).
    """
    wanted = {"moisture": _in_moisture, **({"both": _in_both} if errors_in_both else {})}
    missing = [name for name in wanted if not are_ready(name)]
    if missing:
        tell("compiling the numerical kernels, once for this version: about a minute, longer if the computer is busy")
    for name in missing:
        wanted[name]()
        mark_ready(name)


def _points() -> Points:
    a = np.array([0.11, 0.23, 0.33, 0.43, 0.53, 0.69, 0.75, 0.84])
    return Points(a, 0.05 + 0.1 * a**2 + 0.1 * a**8, u_a_w=np.array([0.003]), u_moisture=np.array([0.001]))


def _in_moisture() -> None:
    panel = fit_panel(_points())
    bootstrap(panel, replicates=2).band(panel.points.a_w)
    panel["lewicki"].water_activity(0.1)


def _in_both() -> None:
    fit(_points(), "gab", residual="both")
