"""Printed constants and the numbers they must give: food, the grain standard, pasta, wood."""

from __future__ import annotations

import numpy as np
import pytest

from isohume.product.sorption.models.dispatch import MODULES

BY_KEY = {module.MODEL.key: module for module in MODULES}
GAS = 8.314462618e-3  # kJ/(mol K)


def moisture(key: str, constants: tuple[float, ...], a_w: float, t_c: float = 25.0) -> float:
    """The curve of a model at printed constants, kg/kg."""
    out = np.zeros(2 + len(constants))
    BY_KEY[key].curve.py_func(a_w, t_c + 273.15, np.array(constants), out)
    return float(out[0])


@pytest.mark.parametrize(
    ("a_w", "expected"), [(0.1, 0.0370), (0.3, 0.0694), (0.5, 0.1046), (0.7, 0.1719), (0.85, 0.3056)]
)
def test_gab_at_the_check_vector_of_the_trade(a_w: float, expected: float) -> None:
    # monolayer 0.06, C 12, K 0.95, worked independently; four decimals
    assert moisture("gab", (0.06, 12.0, 0.95), a_w) == pytest.approx(expected, abs=0.51e-4)


@pytest.mark.parametrize(
    ("constants", "t_c", "a_w", "expected"),
    [
        # ASAE D245.5 constants; the moistures are plain arithmetic with them, % dry basis, three decimals
        ((2.2919e-5, 2.0123, 195.267), 10.0, 0.2, 6.806),  # barley
        ((2.2919e-5, 2.0123, 195.267), 10.0, 0.4, 10.272),
        ((8.6541e-5, 1.8634, 49.81), 10.0, 0.2, 7.537),  # yellow dent corn
        ((8.6541e-5, 1.8634, 49.81), 10.0, 0.9, 26.374),
        ((1.9187e-5, 2.4451, 51.161), 10.0, 0.6, 15.241),  # rough rice
        ((2.5738e-5, 2.211, 70.318), 10.0, 0.8, 20.309),  # durum wheat
        ((2.3007e-5, 2.2857, 55.815), 10.0, 0.7, 18.576),  # hard wheat
        ((1.2299e-5, 2.5558, 64.346), 10.0, 0.4, 11.881),  # soft wheat
        ((6.50413e-4, 1.4984, 50.561), 10.0, 0.9, 15.106),  # peanut kernel
        ((2.0899e-5, 1.8812, 254.23), 10.0, 0.8, 20.422),  # edible bean
    ],
)
def test_modified_henderson_of_the_grain_standard(
    constants: tuple[float, ...], t_c: float, a_w: float, expected: float
) -> None:
    assert 100.0 * moisture("modified_henderson", constants, a_w, t_c) == pytest.approx(expected, abs=0.51e-3)


@pytest.mark.parametrize(("a_w", "expected"), [(0.3, 9.454), (0.6, 15.230), (0.7, 17.650), (0.9, 25.866)])
def test_modified_chung_pfost_of_the_grain_standard(a_w: float, expected: float) -> None:
    # ASAE D245.5 constants of barley; plain arithmetic with them, % dry basis
    constants = (475.12, 0.14843, 71.996)
    assert 100.0 * moisture("modified_chung_pfost", constants, a_w, 25.0) == pytest.approx(expected, abs=0.51e-3)


# M % wet basis at 25, 30 and 35 % humidity: tables of the equilibrium moisture of grain, printed to 0.1
TABLE = {
    "durum wheat": {1.7: (8.3, 8.9, 9.6), 10.0: (8.0, 8.7, 9.3), 21.1: (7.7, 8.3, 8.9), 37.8: (7.2, 7.7, 8.3)},
    "soybean": {1.7: (5.9, 6.5, 7.1), 10.0: (5.7, 6.3, 6.9), 21.1: (5.5, 6.1, 6.6), 37.8: (5.2, 5.7, 6.2)},
}


@pytest.mark.parametrize(
    ("product", "key", "constants"),
    [
        ("durum wheat", "modified_oswin", (13.101, -0.052626, 2.9987)),  # ASAE D245
        ("soybean", "modified_halsey", (2.87, -0.0054, 1.38)),
    ],
)
def test_grain_standard_gives_the_table_of_grain(product: str, key: str, constants: tuple[float, ...]) -> None:
    for t_c, row in TABLE[product].items():
        for a_w, expected in zip((0.25, 0.30, 0.35), row, strict=True):
            dry = moisture(key, constants, a_w, t_c)
            # half of the last digit, and the table's degrees are rounded Fahrenheit
            assert 100.0 * dry / (1.0 + dry) == pytest.approx(expected, abs=0.055)


@pytest.mark.parametrize(
    ("t_c", "a_w", "expected"),
    [(15.0, 0.3, 6.7882), (15.0, 0.5, 10.2941), (15.0, 0.7, 15.6105), (15.0, 0.85, 24.1427), (25.0, 0.3, 6.3822)],
)
def test_modified_oswin_of_chickpea(t_c: float, a_w: float, expected: float) -> None:
    # Armstrong et al. 2017 print M = (A + B t)(a/(1 - a))^C, so their C is 1/C here; % dry basis, plain arithmetic
    constants = (11.2175, -0.0615631, 1.0 / 0.49142)
    assert 100.0 * moisture("modified_oswin", constants, a_w, t_c) == pytest.approx(expected, abs=0.51e-4)


@pytest.mark.parametrize(
    ("constants", "t_c", "a_w", "expected"),
    [
        # Xiong, Narsimhan & Okos 1991
        ((0.176, -0.001748, 0.182, 0.006946), 40.0, 0.2, 0.05608),
        ((0.176, -0.001748, 0.182, 0.006946), 40.0, 0.5, 0.10608),
        ((0.176, -0.001748, 0.182, 0.006946), 60.0, 0.8, 0.16311),
        # Andrieu et al. 1985
        ((0.154, -0.00122, 0.078, 0.00732), 40.0, 0.8, 0.17590),
        ((0.154, -0.00122, 0.078, 0.00732), 60.0, 0.2, 0.03945),
    ],
)
def test_oswin_linear_of_pasta(constants: tuple[float, ...], t_c: float, a_w: float, expected: float) -> None:
    assert moisture("oswin_linear", constants, a_w, t_c) == pytest.approx(expected, abs=0.51e-5)


@pytest.mark.parametrize(
    ("prefactors", "per_kelvin", "t_c", "a_w", "expected"),
    [
        # durum semolina, Erbas, Ertugay & Certel 2005 as transcribed
        ((1.3841e-5, 1.2762e12, 2.1566), (2642.8, -7864.2, -348.98), 25.0, 0.1, 0.02548),
        ((1.3841e-5, 1.2762e12, 2.1566), (2642.8, -7864.2, -348.98), 25.0, 0.5, 0.10182),
        # durum pasta, Singh 1996
        ((0.0322, 2.37, 1.38), (178.013, 1790.96, -137.118), 40.0, 0.7, 0.15086),
        # extruded pasta, Waananen 1989
        ((0.0044, 2.86e-9, 0.1313), (822.709, 7216.74, 591.773), 60.0, 0.3, 0.04670),
        # potato, Kiranoudis et al. 1993
        ((0.056, 0.017, 0.94), (167.188, 2405.58, -110.657), 45.0, 0.85, 0.21235),
    ],
)
def test_gab_arrhenius_of_pasta_and_potato(
    prefactors: tuple[float, ...], per_kelvin: tuple[float, ...], t_c: float, a_w: float, expected: float
) -> None:
    # p = p0 exp(b/T) with b in kelvin, so the heat is b R
    constants = tuple(x for p0, b in zip(prefactors, per_kelvin, strict=True) for x in (p0, b * GAS))
    assert moisture("gab_arrhenius", constants, a_w, t_c) == pytest.approx(expected, abs=2e-5)


@pytest.mark.parametrize(
    ("t_c", "a_w", "expected"),
    [
        # rows of table 4-2 of the wood handbook as quoted in open pages, % dry basis
        (21.1, 0.2, 4.5),
        (21.1, 0.3, 6.2),
        (21.1, 0.4, 7.7),
        (21.1, 0.5, 9.2),
        (21.1, 0.6, 11.0),
        (21.1, 0.65, 12.0),
        (21.1, 0.8, 16.0),
        (60.0, 0.55, 8.4),
    ],
)
def test_two_hydrates_give_the_table_of_wood(t_c: float, a_w: float, expected: float) -> None:
    # constants of the handbook's equation, Simpson 1998
    constants = (
        349.0 + 1.29 * t_c + 0.0135 * t_c**2,
        0.805 + 0.000736 * t_c - 0.00000273 * t_c**2,
        6.27 - 0.00938 * t_c - 0.000303 * t_c**2,
        1.91 + 0.0407 * t_c - 0.000293 * t_c**2,
    )
    # half of the last digit; the quoted rows at 0.5 agree with the equation to 0.05 only just
    assert 100.0 * moisture("hailwood_horrobin_two", constants, a_w, t_c) == pytest.approx(expected, abs=0.06)


def test_one_hydrate_is_gab_in_other_constants() -> None:
    for a_w in (0.1, 0.5, 0.9):
        assert moisture("hailwood_horrobin", (300.0, 0.8, 11.0), a_w) == pytest.approx(
            moisture("gab", (18.0 / 300.0, 12.0, 0.8), a_w), rel=1e-13
        )


def test_ferro_fontan_at_gamma_one_is_halsey() -> None:
    for a_w in (0.1, 0.5, 0.9):
        assert moisture("ferro_fontan", (1.0, 0.02, 1.5), a_w) == pytest.approx(
            moisture("halsey", (0.02, 1.5), a_w), rel=1e-13
        )
