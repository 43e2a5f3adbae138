"""Sorption: isotherm models, fitting, choice, inversion, temperature and heat of sorption.

Names are loaded on first use: the compiler of the kernels takes a good part of a second to import.
"""

from __future__ import annotations

from importlib import import_module
from typing import Any

_WHERE = {
    "Points": "points",
    "Model": "model",
    "Parameter": "model",
    "MODELS": "catalogue",
    "PANEL": "catalogue",
    "model_named": "catalogue",
    "Fit": "isotherm_fit",
    "fit": "isotherm_fit",
    "Panel": "panel",
    "fit_panel": "panel",
    "Choice": "choice",
    "choose": "choice",
    "Bootstrap": "resampling",
    "bootstrap": "resampling",
    "Interval": "use",
    "moisture_at": "use",
    "water_activity_at": "use",
    "moisture_limit": "use",
    "profile_interval": "profile",
    "prepare_kernels": "readiness",
    "kernels_are_ready": "readiness",
    "isosteric_heat": "heat",
    "Heat": "heat",
    "bootstrap_heat": "heat_bootstrap",
    "heat_of_points": "point_heat",
    "net_heat_between": "net_heat",
    "shifted_a_w": "net_heat",
    "shifted_measured": "net_heat",
    "fit_joint": "joint",
    "Joint": "joint",
    "fit_branches": "hysteresis",
    "hysteresis_loop": "hysteresis",
    "Loop": "hysteresis",
    "measured_loop": "loop_of_points",
    "read_point_rows": "point_file",
    "select_points": "point_selection",
    "fit_panel_with_errors": "panel_with_errors",
    "form_spread": "form",
    "moisture_at_chosen": "form",
    "near_models": "form",
}
__all__ = [
    "Bootstrap",
    "Choice",
    "Fit",
    "Heat",
    "Interval",
    "Joint",
    "Loop",
    "MODELS",
    "Model",
    "PANEL",
    "Panel",
    "Parameter",
    "Points",
    "bootstrap",
    "bootstrap_heat",
    "choose",
    "fit",
    "fit_branches",
    "fit_joint",
    "fit_panel",
    "fit_panel_with_errors",
    "form_spread",
    "heat_of_points",
    "hysteresis_loop",
    "isosteric_heat",
    "kernels_are_ready",
    "measured_loop",
    "model_named",
    "moisture_at",
    "moisture_at_chosen",
    "moisture_limit",
    "near_models",
    "net_heat_between",
    "prepare_kernels",
    "profile_interval",
    "read_point_rows",
    "select_points",
    "shifted_a_w",
    "shifted_measured",
    "water_activity_at",
]


def __getattr__(name: str) -> Any:
    if name not in _WHERE:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    return getattr(import_module(f"{__name__}.{_WHERE[name]}"), name)


def __dir__() -> list[str]:
    return __all__
