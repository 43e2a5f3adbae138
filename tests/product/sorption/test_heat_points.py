"""Heat from measured points without a model: silica gel, zeolite and carbon against independent refits."""

import csv
from pathlib import Path

import numpy as np
import pytest

from isohume.foundation.metrology import unweighted_line
from isohume.foundation.quantity.errors import InputError
from isohume.foundation.water import saturation_pressure
from isohume.product.sorption import Points
from isohume.product.sorption.point_heat import heat_of_points

FILE = Path(__file__).parent / "heat_data" / "vapour_sorption.csv"
GAS = 8.314462618e-3
# total heat in kJ/mol from ln p on 1/T with its standard error and the number of temperatures (refits of the project's
# reference tables, made with another program; printed to 0.1)
REFITS = [
    ("zeolite_hisiv", 0.12, 24.5, 5.4, 6),
    ("zeolite_hisiv", 0.15, 36.1, 6.3, 7),
    ("zeolite_hisiv", 0.2, 41.9, 5.5, 6),
    ("zeolite_hisiv", 0.25, 43.3, 6.1, 4),
    ("zeolite_hisiv", 0.3, 43.6, 4.9, 4),
    ("zeolite_hisiv", 0.5, 43.5, 3.3, 4),
    ("carbon_sorbonorit4", 0.1, 41.3, 4.5, 4),
    ("carbon_sorbonorit4", 0.15, 52.7, 1.6, 5),
    ("carbon_sorbonorit4", 0.2, 52.5, 8.0, 5),
    ("carbon_sorbonorit4", 0.3, 43.3, 9.8, 4),
    ("carbon_sorbonorit4", 0.4, 42.1, 7.7, 4),
]


def measured(name):
    with FILE.open(newline="") as file:
        rows = [row for row in csv.DictReader(file) if row["set_id"].rsplit("_", 1)[0] == name]
    return Points(
        [float(row["aw"]) for row in rows],
        [float(row["moisture"]) for row in rows],
        temperature_c=[float(row["t_C"]) for row in rows],
        direction="adsorption",
    )


def slope_of_saturation(temperatures_c):
    """What the heat of vaporisation adds: the slope of ln p_sat on 1/T over the same temperatures [kJ/mol]."""
    kelvin = np.array(temperatures_c) + 273.15
    return -GAS * float(np.polyfit(1 / kelvin, np.log([saturation_pressure(float(t)) for t in kelvin]), 1)[0])


@pytest.mark.parametrize(("name", "moisture", "total", "u", "temperatures"), REFITS)
def test_refits_of_zeolite_and_carbon(name, moisture, total, u, temperatures):
    points = measured(name)
    pressure = points.a_w * [saturation_pressure(float(t)) for t in points.temperature_k]
    share = Points(pressure / 1e6, points.moisture_db, temperature_c=points.temperature_c)  # of one pressure
    found = heat_of_points(share, moisture)[0]
    assert len(found.temperatures_c) == temperatures
    assert found.value_kj_mol == pytest.approx(total, abs=0.06)
    assert found.u_kj_mol == pytest.approx(u, abs=0.06)
    net = heat_of_points(points, moisture)[0]
    assert net.value_kj_mol + slope_of_saturation(net.temperatures_c) == pytest.approx(total, abs=0.06)


@pytest.mark.parametrize("moisture", [1.0, 2.0, 3.0])
def test_silica_gel_holds_water_by_51_to_53_kj(moisture):
    found = heat_of_points(measured("silica03"), moisture)[0]
    total = found.value_kj_mol + slope_of_saturation(found.temperatures_c)
    assert 50.5 <= total <= 53.5  # about 51-53 kJ/mol at 1-3 mmol/g (notes of the reference tables)


def test_on_points_of_a_known_heat_it_is_that_heat():
    # a = exp(-q/(R T)) f(X) with f a power of X: straight in ln a on ln X, so no error of interpolation
    t = np.repeat([20.0, 40.0, 60.0], 5)
    x = np.tile([0.02, 0.04, 0.06, 0.08, 0.1], 3)
    a_w = 0.5 * (x / 0.1) ** 1.5 * np.exp(-5.0 / GAS * (1 / (t + 273.15) - 1 / 293.15))
    rows = heat_of_points(Points(a_w, x, temperature_c=t), [0.03, 0.05, 0.09])
    assert [row.value_kj_mol for row in rows] == pytest.approx([5.0] * 3, abs=1e-9)
    assert all(row.u_kj_mol == pytest.approx(0.0, abs=1e-9) for row in rows)


def test_two_temperatures_have_no_band():
    points = Points([0.2, 0.4, 0.25, 0.45], [0.05, 0.1, 0.05, 0.1], temperature_c=[20, 20, 40, 40])
    row = heat_of_points(points, 0.07)[0]
    assert (row.u_kj_mol, row.low, row.high) == (None, None, None)


def test_band_is_that_of_the_line():
    points = measured("carbon_sorbonorit4")
    row = heat_of_points(points, 0.2, level=0.9)[0]
    logs = []
    for t in row.temperatures_c:
        part = points.temperatures()[t]
        order = np.argsort(part.a_w)
        x, a = part.moisture_db[order], part.a_w[order]
        place = next(i for i in range(x.size - 1) if x[i] <= 0.2 <= x[i + 1])
        share = np.log(0.2 / x[place]) / np.log(x[place + 1] / x[place])
        logs.append((1 - share) * np.log(a[place]) + share * np.log(a[place + 1]))
    line = unweighted_line([1 / (t + 273.15) for t in row.temperatures_c], logs)
    assert row.value_kj_mol == pytest.approx(-GAS * line.slope, rel=1e-9)
    assert row.u_kj_mol == pytest.approx(GAS * line.u_slope, rel=1e-9)


@pytest.mark.parametrize(
    ("points", "moisture", "said"),
    [
        (Points([0.2, 0.4], [0.05, 0.1], temperature_c=[20, 20]), 0.07, "two temperatures"),
        (Points([0.2, 0.4], [0.05, 0.1]), 0.07, "two temperatures"),
        (Points([0.2, 0.4, 0.2, 0.4], [0.05, 0.1, 0.05, 0.1], temperature_c=[20, 20, 40, 40]), 0.2, "enclose"),
        (Points([0.2, 0.4, 0.2, 0.4], [0.05, 0.1, 0.05, 0.1], temperature_c=[20, 20, 40, 40]), 0.0, "above zero"),
        (
            Points([0.2, 0.4, 0.2, 0.4], [0.05, 0.1, 0.05, 0.1], temperature_c=[20, 20, 40, 40],
                   direction=["adsorption"] * 2 + ["desorption"] * 2), 0.07, "one direction",
        ),
    ],
)  # fmt: skip
def test_what_cannot_be_is_refused(points, moisture, said):
    with pytest.raises(InputError, match=said):
        heat_of_points(points, moisture)
