"""Compiling the kernels once, visibly."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from isohume.product.sorption.kernels.compiled import are_ready, mark_ready


def kernels_are_ready() -> bool:
    """Whether the numerical kernels were compiled on this computer before.

        True once `prepare_kernels` has run for this version of isohume
    Returns: True or False.
    Source: none (a state of this computer).
    """
    return are_ready()


def prepare_kernels(tell: Callable[[str], object]) -> None:
    """Compiles the numerical kernels where that was not done yet, and says so first.

        each kernel is run once on a small set of points
    tell: called with one line of text [text] before the waiting starts; not called where all is ready.
    Returns: nothing.
    Source: none (a state of this computer).
    """
    if are_ready():
        return
    tell("compiling the numerical kernels, once for this version on this computer: about half a minute")
    from isohume.product.sorption.isotherm_fit import fit
    from isohume.product.sorption.panel import fit_panel
    from isohume.product.sorption.points import Points
    from isohume.product.sorption.resampling import bootstrap

    a = np.array([0.11, 0.23, 0.33, 0.43, 0.53, 0.69, 0.75, 0.84])
    points = Points(a, 0.05 + 0.1 * a**2 + 0.1 * a**8, u_a_w=np.array([0.003]), u_moisture=np.array([0.001]))
    bootstrap(fit_panel(points), replicates=2).band(a)
    fit(points, "gab", residual="both").water_activity(0.1)
    mark_ready()
