"""How a figure of an isotherm was found: formula, inputs, source, range, and what it depends on most."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from isohume.outlets.site.studies.answers import LEVELS, Limit
from isohume.outlets.site.studies.words import cited, model_of, parameter, set_words

How = dict[str, Any]
NO_POINT = "The interval is the curve's: one determination of moisture scatters more."


def fitted_range(one: Mapping[str, Any]) -> str:
    """Where a set answers."""
    low, high = one["curve"]["a_w"][0], one["curve"]["a_w"][-1]
    return f"a_w {low:.3f} to {high:.3f}, {set_words(one)}, this formula version only; nothing is said beyond"


def of_curve(one: Mapping[str, Any], level: str) -> How:
    """A value of the curve with its interval."""
    model = model_of(one, one["recommended"])
    assert model is not None  # there is a curve where a model is recommended
    near = one["curve"].get("near", [])
    values = [(p["name"], parameter(p), p["meaning"]) for p in model["parameters"]]
    return {
        "formula": f"{model['equation']};  interval X -+ t u(X), u(X)^2 = g' V g + u_form^2, g = dX/dp",
        "inputs": [
            *values,
            ("Points", f"{model['n']} of {one['n']}", "those inside the model's range"),
            ("t", f"Student's, {LEVELS[level]} two-sided, {one['curve']['dof']} degrees of freedom"),
            ("V", "covariance of the parameters", "from the points' scatter about the curve"),
            ("u_form", f"distance to {' and '.join(near)}" if near else "none", "models the points cannot rule out"),
        ],
        "range": fitted_range(one),
        "depends": f"the points near this a_w. {NO_POINT}",
        "source": f"{cited(model)}; JCGM100, 5.2.2",
    }


def of_resampled(one: Mapping[str, Any], level: str, replicates: int) -> How:
    """The interval found by bootstrap."""
    return of_curve(one, level) | {
        "formula": "the fit repeated on resampled points; the interval holds the middle share of the curves",
        "inputs": [("Replicates", replicates), ("Share", LEVELS[level])],
        "depends": "how well the points stand for others of their kind. Far from the interval above, mistrust both",
        "source": "EfronTibshirani1993 (from memory)",
    }


def of_keep(limit: Limit, one: Mapping[str, Any], guard: float, u_wb: float) -> How:
    """The moisture to keep to."""
    return {
        "formula": "X_max = X(a_limit - guard) - t sqrt(u(X)^2 + u(x)^2), one-sided",
        "inputs": [
            ("a_w limit", f"{limit.a_w:g}"),
            ("Guard band in a_w", f"{guard:g}" if guard else "none", "taken off the limit first"),
            ("X", f"{limit.moisture.value:.5f} kg/kg", "the curve there"),
            ("t", f"Student's, {LEVELS[limit.level]} one-sided, {one['curve']['dof']} degrees of freedom"),
            ("u(x) of a moisture determination", f"{100 * u_wb:g} % wet basis" if u_wb else "none given"),
        ],
        "range": fitted_range(one),
        "depends": "the uncertainty of the moisture determination: where none is given, a determination at this "
        "moisture may in truth lie above it",
        "source": "none (common practice)",
    }


def of_monolayer(model: Mapping[str, Any]) -> How:
    """A monolayer moisture."""
    low, high = model["valid_a_w"]
    return {
        "formula": model["equation"],
        "inputs": [(p["name"], parameter(p), p["meaning"]) for p in model["parameters"]],
        "range": f"fitted to {model['n']} points, a_w {low:.3f} to {high:.3f}",
        "depends": "the points at low a_w",
        "source": cited(model),
    }


def of_comparison() -> How:
    """The figures of the comparison of models."""
    return {
        "formula": "s = sqrt(SSE/(n - p));  P = 100/n sum |X - X_fit|/X;  "
        "AICc = n ln(SSE/n) + 2k + 2k(k + 1)/(n - k - 1)",
        "inputs": [
            ("SSE", "sum of squared residuals", "weighted where the file gives uncertainties"),
            ("p, k", "parameters; k counts the residual variance too"),
            ("weight", "exp(-(AICc - least)/2) over the sum of all", "how well supported among these eleven"),
        ],
        "range": "models fitted to the same points; one that is valid on a part of them only has no weight beside them",
        "depends": "how many points there are for how many parameters",
        "source": "BurnhamAnderson2002 (from memory)",
    }
