"""The certified carbon: both branches at the same a_w, so the loop needs neither model nor interpolation."""

import csv
from pathlib import Path

import numpy as np
import pytest

from isohume.foundation.quantity.errors import InputError
from isohume.product.sorption import Points
from isohume.product.sorption.loop_of_points import measured_loop

FILE = Path(__file__).parent / "heat_data" / "reference_carbon.csv"


def carbon(kind, **named):
    with FILE.open(newline="") as file:
        rows = [row for row in csv.DictReader(file) if row["set_id"].startswith(f"bam_Ref_Isotherm_{kind}_")]
    return Points(
        [float(row["aw"]) for row in rows],
        [float(row["moisture"]) for row in rows],  # mmol/g, as certified
        temperature_c=25.0,
        direction=[row["direction"] for row in rows],
        **named,
    )


# certified moistures in mmol/g read off both branches (Table 2 of the source): desorption, adsorption
CERTIFIED = {0.50004: (4.685, 2.331), 0.54989: (15.310, 5.213), 0.60005: (21.217, 11.748), 0.049846: (0.338, 0.041)}


def test_widths_are_the_certified_differences():
    found = measured_loop(carbon("Pure"))
    assert len(found.a_w) == 19  # every a_w of the certificate was measured on both branches
    for a_w, (down, up) in CERTIFIED.items():
        assert found.width_db[found.a_w.index(a_w)] == pytest.approx(down - up, abs=1e-9)


def test_it_is_widest_where_the_pores_empty():
    for kind, widest, width in (("Pure", 0.54989, 15.310 - 5.213), ("RH", 0.55, 15.667 - 5.337)):
        found = measured_loop(carbon(kind))
        assert found.widest_at == widest
        assert max(found.width_db) == pytest.approx(width, abs=1e-9)


def test_it_stays_open_to_the_driest_point_in_pure_vapour_and_closes_in_carrier_gas():
    assert measured_loop(carbon("Pure")).closes_at is None
    # moistures are certified to 0.001 mmol/g; differences under 0.1 mmol/g count as none
    assert measured_loop(carbon("Pure"), tolerance_db=0.1).closes_at is None
    closed = measured_loop(carbon("RH"), tolerance_db=0.1)
    assert closed.closes_at == pytest.approx(0.3)  # 0.082 at 0.25, 0.120 at 0.30


def test_area_against_another_rule():
    found = measured_loop(carbon("Pure"))
    # the same integral as the difference of the areas under both branches, each by the library's trapezoids
    points = carbon("Pure").branches()
    up, down = points["adsorption"], points["desorption"]
    order = np.argsort(down.a_w)
    rule = np.trapezoid if hasattr(np, "trapezoid") else np.trapz
    assert found.area_db == pytest.approx(
        float(rule(down.moisture_db[order], down.a_w[order]) - rule(up.moisture_db, up.a_w)), rel=1e-9
    )


def test_u_of_a_width_is_that_of_both_points():
    found = measured_loop(carbon("Pure", u_moisture=0.05))
    assert found.u_width == pytest.approx([0.05 * 2**0.5] * 19)
    # at 0.90007 desorption lies 0.027 below adsorption, within the uncertainty: it must not end the loop below
    assert found.closes_at is None


def test_points_without_a_partner_are_left_out():
    points = Points(
        [0.2, 0.4, 0.6, 0.8, 0.2, 0.401, 0.5, 0.8],
        [0.1, 0.2, 0.3, 0.4, 0.12, 0.25, 0.3, 0.4],
        direction=["adsorption"] * 4 + ["desorption"] * 4,
    )
    found = measured_loop(points)
    assert found.a_w == (0.2, 0.4, 0.8)
    assert found.width_db == pytest.approx((0.02, 0.05, 0.0))


@pytest.mark.parametrize(
    ("points", "said"),
    [
        (Points([0.2, 0.4], [0.1, 0.2]), "direction"),
        (Points([0.2, 0.4], [0.1, 0.2], direction="adsorption"), "both branches"),
        (
            Points([0.2, 0.4, 0.3, 0.5], [0.1, 0.2, 0.1, 0.2], direction=["adsorption"] * 2 + ["desorption"] * 2),
            "shared",
        ),
        (
            Points([0.2, 0.2], [0.1, 0.2], direction=["adsorption", "desorption"], temperature_c=[20.0, 30.0]),
            "one temperature",
        ),
    ],
)
def test_what_is_no_loop_is_refused(points, said):
    with pytest.raises(InputError, match=said):
        measured_loop(points)
