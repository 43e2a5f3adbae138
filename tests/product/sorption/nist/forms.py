"""The 27 nonlinear problems of NIST in separable form: which functions, and where the printed parameters stand.

`basis(x, theta, rows)` fills rows with the functions, then their derivatives (coordinate by coordinate), then, where a
form has an offset, the offset and its derivatives. Derivatives are written out by hand, as in the models' files.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Basis = Callable[[Array, Array, Array], None]
Printed = Callable[[Array, Array], tuple[Array, Array]]


@dataclass(frozen=True)
class Form:
    """One way to split a model into linear coefficients c and nonlinear coordinates theta."""

    text: str
    linear: int
    nonlinear: int
    basis: Basis
    theta: Callable[[Array], Array]  # the coordinates of printed parameters
    printed: Printed  # the printed parameters of (c, theta), and their derivatives by (c, theta)
    offset: bool = False


def placed(text: str, linear: int, places: tuple[int, ...], basis: Basis, offset: bool = False) -> Form:
    """A form whose printed parameters are its coefficients and coordinates, b_i standing at places[i] of (c, theta)."""
    size = len(places)
    coordinates = [places.index(linear + h) for h in range(size - linear)]

    def printed(c: Array, theta: Array) -> tuple[Array, Array]:
        return np.concatenate([c, theta])[list(places)], np.eye(size)[list(places)]

    return Form(text, linear, size - linear, basis, lambda b: b[coordinates], printed, offset)


def _misra1a(x: Array, theta: Array, rows: Array) -> None:
    gone = np.exp(-theta[0] * x[0])
    rows[0] = -np.expm1(-theta[0] * x[0])
    rows[1] = x[0] * gone


def _misra1b(x: Array, theta: Array, rows: Array) -> None:
    base = 1.0 + theta[0] * x[0] / 2.0
    rows[0] = 1.0 - base**-2
    rows[1] = x[0] * base**-3


def _misra1c(x: Array, theta: Array, rows: Array) -> None:
    base = 1.0 + 2.0 * theta[0] * x[0]
    rows[0] = 1.0 - base**-0.5
    rows[1] = x[0] * base**-1.5


def _misra1d(x: Array, theta: Array, rows: Array) -> None:
    base = 1.0 + theta[0] * x[0]
    rows[0] = theta[0] * x[0] / base
    rows[1] = x[0] / base**2


def _chwirut(x: Array, theta: Array, rows: Array) -> None:
    rows[0] = np.exp(-theta[0] * x[0]) / (1.0 + theta[1] * x[0])
    rows[1] = -x[0] * rows[0]
    rows[2] = -x[0] * rows[0] / (1.0 + theta[1] * x[0])


def _chwirut_printed(c: Array, theta: Array) -> tuple[Array, Array]:
    """b1 = theta_1, b2 = 1/c, b3 = theta_2/c."""
    slopes = np.array([[0, 1, 0], [-1 / c[0] ** 2, 0, 0], [-theta[1] / c[0] ** 2, 0, 1 / c[0]]])
    return np.array([theta[0], 1 / c[0], theta[1] / c[0]]), slopes


def _danwood(x: Array, theta: Array, rows: Array) -> None:
    rows[0] = x[0] ** theta[0]
    rows[1] = np.log(x[0]) * rows[0]


def _lanczos(x: Array, theta: Array, rows: Array) -> None:
    rows[3:12] = 0.0
    for j in range(3):
        rows[j] = np.exp(-theta[j] * x[0])
        rows[3 + 3 * j + j] = -x[0] * rows[j]


def _gauss(x: Array, theta: Array, rows: Array) -> None:
    rows[3:18] = 0.0
    rows[0] = np.exp(-theta[0] * x[0])
    rows[3] = -x[0] * rows[0]
    for j, (middle, width) in enumerate((theta[1:3], theta[3:5]), start=1):
        away = (x[0] - middle) / width
        rows[j] = np.exp(-(away**2))
        rows[3 + 3 * (2 * j - 1) + j] = 2.0 * away / width * rows[j]
        rows[3 + 3 * (2 * j) + j] = 2.0 * away**2 / width * rows[j]


def _rational(linear: int) -> Basis:
    """Powers of x over 1 + theta_1 x + theta_2 x^2 + ..."""

    def basis(x: Array, theta: Array, rows: Array) -> None:
        below = 1.0 + sum(each * x[0] ** (h + 1) for h, each in enumerate(theta))
        for j in range(linear):
            rows[j] = x[0] ** j / below
            for h in range(theta.size):
                rows[linear * (1 + h) + j] = -rows[j] * x[0] ** (h + 1) / below

    return basis


def _mgh09(x: Array, theta: Array, rows: Array) -> None:
    below = x[0] ** 2 + theta[0] * x[0] + theta[1]
    for j, power in enumerate((2, 1)):
        rows[j] = x[0] ** power / below
        rows[2 + j] = -x[0] * rows[j] / below
        rows[4 + j] = -rows[j] / below


def _mgh09_printed(c: Array, theta: Array) -> tuple[Array, Array]:
    """b1 = c_1, b2 = c_2/c_1, b3 and b4 the coordinates."""
    slopes = np.eye(4)
    slopes[1, :2] = -c[1] / c[0] ** 2, 1 / c[0]
    return np.array([c[0], c[1] / c[0], *theta]), slopes


_MIDDLE_85 = 85.0  # an x of MGH10


def _mgh10(x: Array, theta: Array, rows: Array) -> None:
    """The exponential against its value at x = 85: by itself its square leaves the range of doubles on the way."""
    below, middle = x[0] + theta[1], _MIDDLE_85 + theta[1]
    rows[0] = np.exp(theta[0] * (1.0 / below - 1.0 / middle))
    rows[1] = rows[0] * (1.0 / below - 1.0 / middle)
    rows[2] = -rows[0] * theta[0] * (1.0 / below**2 - 1.0 / middle**2)


def _mgh10_printed(c: Array, theta: Array) -> tuple[Array, Array]:
    """b1 = c exp(-b2/(85 + b3)), b2 and b3 the coordinates."""
    middle = _MIDDLE_85 + theta[1]
    share = math.exp(-theta[0] / middle)
    slopes = np.eye(3)
    slopes[0] = share * np.array([1.0, -c[0] / middle, c[0] * theta[0] / middle**2])
    return np.array([c[0] * share, *theta]), slopes


def _mgh17(x: Array, theta: Array, rows: Array) -> None:
    rows[3:9] = 0.0
    rows[0] = 1.0
    for h in range(2):
        rows[1 + h] = np.exp(-theta[h] * x[0])
        rows[3 + 3 * h + 1 + h] = -x[0] * rows[1 + h]


def _bennett5(x: Array, theta: Array, rows: Array) -> None:
    base = theta[0] + x[0]
    rows[0] = base ** (-1.0 / theta[1])
    rows[1] = -rows[0] / (theta[1] * base)
    rows[2] = rows[0] * np.log(base) / theta[1] ** 2


_MIDDLE_450 = 450.0  # an x of Eckerle4


def _eckerle4(x: Array, theta: Array, rows: Array) -> None:
    """The logarithm of a peak is a parabola; a flat curve, endlessly far off in centre and width, is theta = 0 here."""
    u = x[0] - _MIDDLE_450
    rows[0] = np.exp(u * (theta[1] - theta[0] * u))
    rows[1] = -rows[0] * u**2
    rows[2] = rows[0] * u


def _eckerle4_theta(b: Array) -> Array:
    """1/(2 b2^2) and (b3 - 450)/b2^2."""
    return np.array([0.5, b[2] - _MIDDLE_450]) / b[1] ** 2


def _eckerle4_printed(c: Array, theta: Array) -> tuple[Array, Array]:
    """b2 = (2 theta_1)^-1/2, b3 = 450 + theta_2/(2 theta_1), b1 = c b2 exp(theta_2^2/(4 theta_1))."""
    width, centre = (2.0 * theta[0]) ** -0.5, theta[1] / (2.0 * theta[0])
    height = math.exp(theta[1] * centre / 2.0)
    b1 = c[0] * width * height
    by_first = b1 * (-0.5 / theta[0] - centre**2)
    slopes = [[width * height, by_first, b1 * centre], [0, -(width**3), 0], [0, -centre / theta[0], width**2]]
    return np.array([b1, width, _MIDDLE_450 + centre]), np.array(slopes)


def _rat42(x: Array, theta: Array, rows: Array) -> None:
    grown = np.exp(theta[0] - theta[1] * x[0])
    rows[0] = 1.0 / (1.0 + grown)
    rows[1] = -(rows[0] ** 2) * grown
    rows[2] = rows[0] ** 2 * grown * x[0]


def _rat43(x: Array, theta: Array, rows: Array) -> None:
    grown = np.exp(theta[0] - theta[1] * x[0])
    rows[0] = (1.0 + grown) ** (-1.0 / theta[2])
    rows[1] = -rows[0] * grown / (1.0 + grown) / theta[2]
    rows[2] = -rows[1] * x[0]
    rows[3] = rows[0] * np.log1p(grown) / theta[2] ** 2


def _roszman1(x: Array, theta: Array, rows: Array) -> None:
    """b1 and b2 linear, their functions 1 and -x; the arctangent is the offset."""
    away = x[0] - theta[1]
    rows[0], rows[1] = 1.0, -x[0]
    rows[2:6] = 0.0
    rows[6] = -np.arctan(theta[0] / away) / np.pi
    rows[7] = -away / (away**2 + theta[0] ** 2) / np.pi
    rows[8] = -theta[0] / (away**2 + theta[0] ** 2) / np.pi


def _enso(x: Array, theta: Array, rows: Array) -> None:
    rows[7:21] = 0.0
    rows[0] = 1.0
    for j, period in enumerate((12.0, *theta)):
        angle = 2.0 * np.pi * x[0] / period
        cosine, sine = 1 + 2 * j, 2 + 2 * j
        rows[cosine], rows[sine] = np.cos(angle), np.sin(angle)
        if j > 0:
            rows[7 * j + cosine] = rows[sine] * angle / period
            rows[7 * j + sine] = -rows[cosine] * angle / period


def _nelson(x: Array, theta: Array, rows: Array) -> None:
    rows[0] = 1.0
    rows[1] = -x[0] * np.exp(-theta[0] * x[1])
    rows[2] = 0.0
    rows[3] = -x[1] * rows[1]


_CHWIRUT = Form(
    "c exp(-b1 x)/(1 + t x), c = 1/b2, t = b3/b2",
    1, 2, _chwirut, lambda b: np.array([b[0], b[2] / b[1]]), _chwirut_printed,
)  # fmt: skip
_LANCZOS = placed("sum of b1, b3, b5 times exp(-b2 x), exp(-b4 x), exp(-b6 x)", 3, (0, 3, 1, 4, 2, 5), _lanczos)
_GAUSS = placed("b1, b3, b6 linear; decay b2, peaks (b4, b5) and (b7, b8)", 3, (0, 3, 1, 4, 5, 2, 6, 7), _gauss)
_CUBICS = placed("b1 to b4 linear over 1 + b5 x + b6 x^2 + b7 x^3", 4, tuple(range(7)), _rational(4))

FORMS: dict[str, Form] = {
    "Misra1a": placed("b1 linear", 1, (0, 1), _misra1a),
    "Chwirut2": _CHWIRUT,
    "Chwirut1": _CHWIRUT,
    "Lanczos3": _LANCZOS,
    "Gauss1": _GAUSS,
    "Gauss2": _GAUSS,
    "DanWood": placed("b1 linear", 1, (0, 1), _danwood),
    "Misra1b": placed("b1 linear", 1, (0, 1), _misra1b),
    "Kirby2": placed("b1 to b3 linear over 1 + b4 x + b5 x^2", 3, tuple(range(5)), _rational(3)),
    "Hahn1": _CUBICS,
    "Nelson": placed("b1, b2 linear, in log y", 2, (0, 1, 2), _nelson),
    "MGH17": placed("b1, b2, b3 linear", 3, tuple(range(5)), _mgh17),
    "Lanczos1": _LANCZOS,
    "Lanczos2": _LANCZOS,
    "Gauss3": _GAUSS,
    "Misra1c": placed("b1 linear", 1, (0, 1), _misra1c),
    "Misra1d": placed("b1 linear", 1, (0, 1), _misra1d),
    "Roszman1": placed("b1, b2 linear, the arctangent an offset", 2, tuple(range(4)), _roszman1, offset=True),
    "ENSO": placed("all but the periods b4, b7 linear", 7, (0, 1, 2, 7, 3, 4, 8, 5, 6), _enso),
    "MGH09": Form(
        "(c1 x^2 + c2 x)/(x^2 + b3 x + b4), c1 = b1, c2 = b1 b2", 2, 2, _mgh09, lambda b: b[2:], _mgh09_printed
    ),
    "Thurber": _CUBICS,
    "BoxBOD": placed("b1 linear", 1, (0, 1), _misra1a),
    "Rat42": placed("b1 linear", 1, tuple(range(3)), _rat42),
    "MGH10": Form("c exp(b2/(x + b3) - b2/(85 + b3))", 1, 2, _mgh10, lambda b: b[1:], _mgh10_printed),
    "Eckerle4": Form(
        "c exp(t2 u - t1 u^2), u = x - 450, t1 = 1/(2 b2^2), t2 = (b3 - 450)/b2^2",
        1,
        2,
        _eckerle4,
        _eckerle4_theta,
        _eckerle4_printed,
    ),
    "Rat43": placed("b1 linear", 1, tuple(range(4)), _rat43),
    "Bennett5": placed("b1 linear", 1, tuple(range(3)), _bennett5),
}
