"""Points: what is allowed, and how they are taken apart."""

import numpy as np
import pytest

from isohume.foundation.quantity import InputError
from isohume.product.sorption import Points


@pytest.mark.parametrize(
    ("field", "values"),
    [
        ("a_w", {"a_w": [0.2, 65.2]}),
        ("moisture_db", {"moisture_db": [0.1, float("nan")]}),
        ("u_a_w", {"u_a_w": [0.003, 0.0]}),
        ("u_moisture", {"u_moisture": [-0.001]}),
        ("temperature_c", {"temperature_c": [25.0, 2500.0]}),
        ("direction", {"direction": ("adsorption", "both")}),
        ("moisture_db", {"moisture_db": [0.1]}),
    ],
)
def test_bad_fields_are_named(field, values):
    given = {"a_w": [0.2, 0.6], "moisture_db": [0.05, 0.1], **values}
    if values.get("moisture_db") == [0.1]:
        given["moisture_db"] = [0.1, 0.2, 0.3]
    with pytest.raises(InputError) as refused:
        Points(**given)
    assert refused.value.field == field


def test_percent_is_asked_about_with_its_row():
    asked = r"row 2: a_w: read 65\.2; allowed: a fraction from 0 to 1 \(65\.2 % is 0\.652\)"
    with pytest.raises(InputError, match=asked):
        Points([0.2, 65.2], [0.05, 0.1])


def test_branches_and_temperatures():
    points = Points(
        [0.2, 0.6, 0.2, 0.6],
        [0.05, 0.1, 0.06, 0.12],
        temperature_c=[25, 25, 40, 40],
        direction=("adsorption", "desorption", "adsorption", "desorption"),
        u_a_w=0.003,
    )
    assert {name: part.a_w.tolist() for name, part in points.branches().items()} == {
        "adsorption": [0.2, 0.2],
        "desorption": [0.6, 0.6],
    }
    assert {at: part.moisture_db.tolist() for at, part in points.temperatures().items()} == {
        25.0: [0.05, 0.1],
        40.0: [0.06, 0.12],
    }
    assert points.u_a_w.tolist() == [0.003] * 4
    assert points.temperature_k.tolist() == [298.15, 298.15, 313.15, 313.15]
    assert list(Points([0.5], [0.1]).branches()) == ["not stated"]
    assert Points([0.5], [0.1]).temperatures() == {}


def test_arrays_are_copies_that_cannot_be_changed():
    a = np.array([0.2, 0.6])
    points = Points(a, [0.05, 0.1])
    a[0] = 0.9
    assert points.a_w[0] == 0.2
    with pytest.raises(ValueError, match="read-only"):
        points.a_w[0] = 0.3
