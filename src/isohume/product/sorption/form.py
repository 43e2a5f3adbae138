"""What the choice among models costs: points that several models describe leave the form of the curve open."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import ArrayLike, NDArray

from isohume.foundation.metrology import student_quantile
from isohume.foundation.quantity.errors import InputError
from isohume.product.sorption.choice import Choice
from isohume.product.sorption.isotherm_fit import Fit
from isohume.product.sorption.panel import Panel
from isohume.product.sorption.use import Interval, moisture_at

NEAR = 6.0  # difference of AICc up to which a model keeps some support (Burnham and Anderson 2002, 2.6)


def near_models(panel: Panel, choice: Choice) -> tuple[Fit, ...]:
    """The recommended model and those without a fault that the points cannot rule out, best first.

        AICc - AICc_min <= 6
    panel: the models fitted to the points [1].
    choice: what was chosen among them [1].
    Returns: fits, the recommended first; empty where none is recommended.
    Source: BurnhamAnderson2002, 2.6.
    """
    if choice.recommended is None:
        return ()
    best = panel[choice.recommended]
    others = [
        each
        for each in panel.fits
        if each is not best and not choice.faults.get(each.model.key) and each.aicc - best.aicc <= NEAR
    ]
    return (best, *sorted(others, key=lambda each: each.aicc))


def form_spread(
    panel: Panel, choice: Choice, a_w: ArrayLike, temperature_c: float | None = None
) -> NDArray[np.float64]:
    """How far the models that cannot be ruled out lie from the recommended one, at most, at each a_w.

        u_form(a) = max_k |X_k(a) - X(a)|, taken as one standard uncertainty
    panel: the models fitted to the points [1].
    choice: what was chosen among them [1].
    a_w: water activity [1], float or array, inside the fitted range.
    temperature_c: temperature [degC], for models of several temperatures.
    Returns: moisture on dry basis [kg/kg], an array.
    Raises: InputError where no model is recommended.
    Source: none (a conservative choice of ours).
    """
    models = near_models(panel, choice)
    if not models:
        raise InputError("recommended", None, "a recommended model: nothing describes these points")
    asked = np.atleast_1d(np.asarray(a_w, float))
    curves = np.array([each.curve(asked, temperature_c)[0] for each in models])
    spread: NDArray[np.float64] = np.abs(curves - curves[0]).max(axis=0)
    return spread


def moisture_at_chosen(
    panel: Panel, choice: Choice, a_w: float, level: float = 0.95, temperature_c: float | None = None
) -> Interval:
    """The moisture of the recommended model at an a_w, its interval widened by what the choice left open.

        X(a) -+ t(level, n - p) sqrt(u(X)^2 + u_form^2)
    panel: the models fitted to the points [1].
    choice: what was chosen among them [1].
    a_w: water activity [1], inside the fitted range.
    level: confidence [1], between 0 and 1.
    temperature_c: temperature [degC], for models of several temperatures.
    Returns: Interval of moisture on dry basis [kg/kg]; flags name the models that could not be ruled out.
    Raises: RangeError outside the fitted range; InputError where no model is recommended.
    Beyond: refused.
    Source: none (a conservative choice of ours).
    """
    spread = float(form_spread(panel, choice, a_w, temperature_c)[0])
    best, *others = near_models(panel, choice)
    plain = moisture_at(best, a_w, level, temperature_c)
    if not others:
        return plain
    half = float(np.hypot(plain.high - plain.value, student_quantile(0.5 * (1.0 + level), best.dof) * spread))
    names = ", ".join(each.model.name for each in others)
    said = f"interval widened by the distance to {names}, which the points cannot rule out"
    return replace(plain, low=plain.value - half, high=plain.value + half, flags=(*plain.flags, said))
