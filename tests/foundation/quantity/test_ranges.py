"""Ranges are errors: low, high and the offending elements come with them; nothing is clamped."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from isohume.foundation.quantity import InputError, RangeError, UnknownNameError, ValidRange

BENCH = ValidRange(0.0, 80.0, "degC", "NaCl")


@given(st.floats(allow_nan=True, allow_infinity=True))
@settings(derandomize=True)
def test_a_float_passes_exactly_where_it_lies_inside(value: float) -> None:
    inside = math.isfinite(value) and 0 <= value <= 80
    if inside:
        BENCH.check("temperature_c", value)
    else:
        with pytest.raises(InputError):
            BENCH.check("temperature_c", value)


def test_an_array_names_its_bad_elements() -> None:
    with pytest.raises(RangeError) as refused:
        BENCH.check("temperature_c", np.array([1.0, 81.0, np.nan, 5.0]))
    assert refused.value.offending == (1, 2)
    assert (refused.value.low, refused.value.high) == (0.0, 80.0)
    assert str(refused.value) == "temperature_c: read 81.0; allowed: 0 to 80 degC (NaCl)"


def test_errors_stay_on_one_line_and_short() -> None:
    text = str(InputError("lot.id", "a\nb\x1b[31m" + "x" * 500, "a name", row=3, file="r.csv"))
    assert text.startswith("r.csv: row 3: lot.id: read 'a")
    assert "\n" not in text
    assert "\x1b" not in text
    assert len(text) < 160


def test_the_place_can_be_known_later() -> None:
    assert (
        str(InputError("a_w", "x", "a number").at(row=4, file="f.csv"))
        == "f.csv: row 4: a_w: read 'x'; allowed: a number"
    )


def test_unknown_names_list_the_nearest() -> None:
    error = UnknownNameError("solution", "NaCi", ["NaCl", "NaBr"])
    assert error.nearest == ("NaCl", "NaBr")
    assert "nearest: NaCl, NaBr" in str(error)
