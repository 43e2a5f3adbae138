"""What every model file must say of itself, and the dispatch written from the files."""

from __future__ import annotations

import itertools
import math
import runpy
from pathlib import Path
from types import ModuleType

import numpy as np
import pytest

from isohume.product.sorption.kernels.layout import WIDTH
from isohume.product.sorption.models import dispatch
from isohume.product.sorption.models.dispatch import MODULES

ROOT = Path(__file__).resolve().parents[4]
EACH = pytest.mark.parametrize("module", MODULES, ids=[module.MODEL.key for module in MODULES])

# the table of the panel in the command line's contract: name, parameter keys in order, admissible range of each
FREE, ABOVE_ZERO = (-math.inf, math.inf, False), (0.0, math.inf, True)
PANEL = {
    "GAB": (("monolayer_db", ABOVE_ZERO), ("c", ABOVE_ZERO), ("k", (0.0, 1.0, True))),
    "BET": (("monolayer_db", ABOVE_ZERO), ("c", ABOVE_ZERO)),
    "Oswin": (("a", ABOVE_ZERO), ("b", ABOVE_ZERO)),
    "Halsey": (("a", ABOVE_ZERO), ("b", ABOVE_ZERO)),
    "Henderson": (("a", ABOVE_ZERO), ("b", ABOVE_ZERO)),
    "Chung-Pfost": (("a", ABOVE_ZERO), ("b", ABOVE_ZERO)),
    "Smith": (("a", FREE), ("b", ABOVE_ZERO)),
    "Peleg": (("a", ABOVE_ZERO), ("b", ABOVE_ZERO), ("c", (0.0, 1.0, True)), ("d", (1.0, math.inf, True))),
    "Iglesias-Chirife": (("a", FREE), ("b", ABOVE_ZERO)),
    "Caurie": (("a", FREE), ("b", ABOVE_ZERO)),
    "Lewicki": (("f", ABOVE_ZERO), ("g", (0.0, 1.0, False)), ("h", (0.0, math.inf, False))),
}


@EACH
def test_a_model_says_what_it_is(module: ModuleType) -> None:
    model = module.MODEL
    assert model.key == module.__name__.rsplit(".", 1)[1]
    assert model.name
    assert model.source
    assert model.where
    assert model.verified in ("text", "memory")
    assert "X" in model.equation
    assert len(model.parameters) == model.linear + model.nonlinear
    assert len(set(model.names)) == len(model.parameters)
    for parameter in model.parameters:
        assert parameter.unit
        assert parameter.meaning
        assert parameter.low < parameter.high
    assert 0.0 <= model.valid_a_w[0] < model.valid_a_w[1] <= 1.0


@EACH
def test_the_search_of_a_model_starts_inside_its_box(module: ModuleType) -> None:
    model = module.MODEL
    assert len(model.positive) == model.linear
    assert len(model.theta_high) == model.nonlinear
    assert len(model.axes) == model.nonlinear
    assert all(list(axis) == sorted(set(axis)) for axis in model.axes)
    assert model.followed <= WIDTH  # the search keeps no more
    assert model.linear <= 2  # and looks at a start by one or two inner products
    assert len(model.theta_wide_low) == len(model.theta_wide_high)
    assert len(model.theta_wide_low) in (0, model.nonlinear)
    for start in model.starts:
        assert len(start) == model.nonlinear
        assert all(low <= at <= high for low, at, high in zip(model.theta_low, start, model.theta_high, strict=True))
    for low, high, wide_low, wide_high in zip(
        model.theta_low, model.theta_high, model.theta_wide_low, model.theta_wide_high, strict=False
    ):
        assert wide_low <= low < high <= wide_high


@EACH
def test_the_worked_number_of_a_model_comes_out(module: ModuleType) -> None:
    parameters, a_w, moisture = module.MODEL.worked
    out = np.zeros(2 + len(parameters))
    module.curve.py_func(a_w, 298.15, np.array(parameters), out)
    digits = len(repr(moisture).partition(".")[2])
    assert out[0] == pytest.approx(moisture, abs=0.51 * 10.0**-digits)


@pytest.mark.parametrize("name", PANEL)
def test_names_keys_and_ranges_are_those_of_the_command_line(name: str) -> None:
    (model,) = (module.MODEL for module in MODULES if module.MODEL.name == name)
    found = tuple((each.name, (each.low, each.high, each.open_low)) for each in model.parameters)
    assert found == PANEL[name]


@EACH
def test_parameters_at_the_corners_of_the_box_keep_to_their_ranges(module: ModuleType) -> None:
    model = module.MODEL
    for theta in map(np.array, itertools.product(*zip(model.theta_low, model.theta_high, strict=True))):
        size = model.linear + model.nonlinear
        printed = np.zeros(size)
        module.natural.py_func(np.full(model.linear, 0.1), theta, printed, np.zeros((size, size)))
        for parameter, value in zip(model.parameters, printed, strict=True):
            slack = 1e-12 * abs(value)
            assert parameter.low - slack <= value <= parameter.high + slack, (theta, parameter.name, value)


def test_the_dispatch_is_what_its_builder_writes() -> None:
    builder = runpy.run_path(str(ROOT / "builders/model_dispatch.py"))
    assert Path(dispatch.__file__).read_text(encoding="utf-8") == builder["written"](builder["model_files"]())
    assert builder["model_files"]() == [module.MODEL.key for module in MODULES]
