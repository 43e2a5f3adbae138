"""A panel fitted with the uncertainties that the points bring: of moisture, of a_w, or of both."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

from isohume.product.sorption.catalogue import PANEL
from isohume.product.sorption.isotherm_fit import Fit, fit
from isohume.product.sorption.panel import Panel, fit_panel
from isohume.product.sorption.points import Points


@dataclass(frozen=True, eq=False)
class PanelWithErrors(Panel):
    """A panel whose fits allow for errors in a_w; the arrays of `outcome` are those of the fits in moisture."""

    made: tuple[Fit, ...] = ()

    @cached_property
    def fits(self) -> tuple[Fit, ...]:
        """The fits that allow for errors in a_w."""
        return self.made


def fit_panel_with_errors(points: Points, models: Sequence[str] = PANEL) -> Panel:
    """Several isotherm models fitted to the same points, each residual along the errors that the points state.

        in moisture, weighted where u_moisture is known; in a_w where u_a_w alone is known; along both where both are
    points: the measured points [1].
    models: names or keys of the models [text], the panel of eleven by default.
    Returns: Panel; models with more parameters than points in their range are named in `too_few`.
    Raises: UnknownNameError for a model, InputError where no model can be fitted.
    Beyond: points outside a model's a_w range are left out of its fit only.
    Example: points without u_a_w give what fit_panel gives.
    Source: none (a choice among the residuals of `fit`).
    """
    panel = fit_panel(points, models)
    if points.u_a_w is None:
        return panel
    residual = "a_w" if points.u_moisture is None else "both"
    fits = tuple(fit(panel.points, key, residual) for key in panel.keys)
    return PanelWithErrors(panel.given, panel.points, panel.keys, panel.outcome, panel.too_few, fits)
