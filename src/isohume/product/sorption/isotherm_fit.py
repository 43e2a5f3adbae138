"""One model fitted to points: parameters with their covariance, how well it describes, and what was noticed."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from isohume.foundation.quantity.errors import InputError
from isohume.foundation.quantity.ranges import ValidRange
from isohume.product.sorption.catalogue import model_named, place_of
from isohume.product.sorption.evaluation import curve_of, inverse_of
from isohume.product.sorption.findings import notices
from isohume.product.sorption.model import Model
from isohume.product.sorption.points import Points

RESIDUALS = ("moisture", "a_w", "both")
_AT_END = 1e-9
_ONE_TEMPERATURE_K = 1.0  # readings within it count as one temperature


@dataclass(frozen=True, eq=False)
class Fit:
    """A fitted isotherm. Sums of squares are of moisture on dry basis; chi_square is the sum that was minimised."""

    model: Model
    points: Points  # the points that were used: those inside the model's range
    values: NDArray[np.float64]
    inverse_information: NDArray[np.float64]  # (J^T J)^-1 in the printed parameters
    theta: NDArray[np.float64]
    chi_square: float
    sse: float
    standard_error: float
    mrd_percent: float
    aicc: float
    residual: str = "moisture"
    weighted: bool = False
    left_out: int = 0  # points outside the model's range

    @cached_property
    def held(self) -> tuple[str, ...]:
        """The parameters at an end of the admissible range, which have no standard uncertainty."""
        return at_an_end(self.model, self.theta if self.residual == "moisture" else None, self.values)

    @cached_property
    def covariance(self) -> NDArray[np.float64]:
        """The covariance of the parameters; nan in the row of a parameter held at an end of its range."""
        found = self.inverse_information * variance_scale(self.chi_square, self.dof, self.weighted)
        for name in self.held:
            place = self.model.names.index(name)
            found[place, :] = found[:, place] = np.nan
        return found

    @cached_property
    def unconstrained(self) -> dict[str, float] | None:
        """The optimum in moisture without the admissible range; None where the range did not stop the search."""
        from isohume.product.sorption.fitting import unconstrained

        return unconstrained(self.points, self.model) if self.held else None

    @property
    def n(self) -> int:
        """How many points were used."""
        return self.points.count

    @property
    def dof(self) -> int:
        """Points less parameters."""
        return self.n - len(self.values)

    @cached_property
    def parameters(self) -> dict[str, float]:
        """The parameters by their keys."""
        return dict(zip(self.model.names, self.values.tolist(), strict=True))

    @cached_property
    def u(self) -> dict[str, float | None]:
        """Standard uncertainties by key; None for a parameter held at the end of its range or not determined."""
        variance = np.diag(self.covariance)
        return {
            name: float(np.sqrt(each)) if np.isfinite(each) else None
            for name, each in zip(self.model.names, variance, strict=True)
        }

    @cached_property
    def correlation(self) -> list[list[float | None]]:
        """The correlation matrix of the parameters; None in the rows of parameters without an uncertainty."""
        spread = np.sqrt(np.diag(self.covariance))
        with np.errstate(divide="ignore", invalid="ignore"):
            matrix = self.covariance / np.outer(spread, spread)
        return [[float(each) if np.isfinite(each) else None for each in row] for row in matrix]

    @property
    def valid_a_w(self) -> tuple[float, float]:
        """The a_w range the points cover: the fit says nothing beyond it."""
        return float(self.points.a_w.min()), float(self.points.a_w.max())

    @property
    def residuals(self) -> NDArray[np.float64]:
        """Measured less fitted moisture, dry basis, in the order of the points."""
        measured, curve = self.points.moisture_db, self._curve(self.points.a_w, self.points.temperature_k)[0]
        off: NDArray[np.float64] = measured - curve
        return off

    @cached_property
    def warnings(self) -> tuple[str, ...]:
        """What a user must know before the numbers are used."""
        return notices(self)

    def moisture(self, a_w: ArrayLike, temperature_c: float | None = None) -> Any:
        """Moisture on dry basis at a_w, a float or an array; RangeError outside the fitted range."""
        self._in_range(a_w)
        return _like(a_w, self._curve(np.ravel(np.asarray(a_w, float)), self.kelvin(temperature_c))[0])

    def slope(self, a_w: ArrayLike, temperature_c: float | None = None) -> Any:
        """dX/da_w, a float or an array; RangeError outside the fitted range."""
        self._in_range(a_w)
        return _like(a_w, self._curve(np.ravel(np.asarray(a_w, float)), self.kelvin(temperature_c))[1])

    def curve(self, a_w: ArrayLike, temperature_c: float | None = None) -> NDArray[np.float64]:
        """Rows: moisture, slope, derivatives by the parameters; not refused beyond the fitted range."""
        return self._curve(np.ravel(np.asarray(a_w, float)), self.kelvin(temperature_c))

    def water_activity(self, moisture_db: ArrayLike, temperature_c: float | None = None) -> Any:
        """The a_w of a moisture on dry basis, a float or an array; RangeError outside the fitted range."""
        low, high = self.valid_a_w
        ends = self._curve(np.array([low, high]), self.kelvin(temperature_c))[0]
        if not ends[0] < ends[1]:
            raise InputError("moisture_db", moisture_db, f"none: this curve of {self.model.name} does not rise")
        ValidRange(float(ends[0]), float(ends[1]), "kg/kg dry basis", "the fitted range").check(
            "moisture_db", moisture_db
        )
        x = np.ravel(np.asarray(moisture_db, float))
        return _like(
            moisture_db, inverse_of(place_of(self.model.key), x, self.kelvin(temperature_c), self.values, low, high)
        )

    def _in_range(self, a_w: ArrayLike) -> None:
        ValidRange(*self.valid_a_w, "", "the fitted range").check("a_w", a_w)

    def kelvin(self, temperature_c: float | None) -> NDArray[np.float64]:
        """The temperature [K] the curve is asked at; refused where the points say nothing of it.

        A model without temperature speaks of the temperature of its points only, within the 1 K to which methods hold
        it; a model with temperature of the range its points cover.
        """
        given = self.points.temperature_c
        if temperature_c is None:
            if self.model.needs_temperature and given is not None and np.ptp(given) > 0.0:
                raise InputError("temperature_c", None, "a temperature, because the points have several")
            return self.points.temperature_k[:1]
        if given is None:
            raise InputError("temperature_c", temperature_c, "none: the points state no temperature")
        low, high = float(given.min()), float(given.max())
        if not self.model.needs_temperature and high - low > _ONE_TEMPERATURE_K:
            allowed = f"none: {self.model.name} has no temperature in it, the points have several"
            raise InputError("temperature_c", temperature_c, allowed)
        ValidRange(low - _ONE_TEMPERATURE_K, high + _ONE_TEMPERATURE_K, "degC", "the temperatures of the points").check(
            "temperature_c", temperature_c
        )
        return np.array([temperature_c + 273.15])

    def _curve(self, a_w: NDArray[np.float64], kelvin: NDArray[np.float64]) -> NDArray[np.float64]:
        return curve_of(place_of(self.model.key), a_w, kelvin, self.values)


def variance_scale(chi_square: float, dof: int, weighted: bool) -> float:
    """What (J^T J)^-1 is multiplied by: the residual variance, or, with known uncertainties, the part of it above one.

    Points that scatter more than their stated uncertainties say widen the result (the ratio of Birge); points that
    scatter less do not narrow it.
    """
    if dof <= 0:
        return float("nan")
    return max(1.0, chi_square / dof) if weighted else chi_square / dof


def at_an_end(model: Model, theta: NDArray[np.float64] | None, values: NDArray[np.float64]) -> tuple[str, ...]:
    """The parameters that stand at an end of the admissible range, or at the end of what the search looks at."""
    found = []
    for parameter, value in zip(model.parameters, values.tolist(), strict=True):
        near = _AT_END * max(1.0, abs(value))
        if abs(value - parameter.low) <= near or abs(value - parameter.high) <= near:
            found.append(parameter.name)
    if theta is None or found:
        return tuple(found)
    ends = [h for h in range(model.nonlinear) if not model.theta_low[h] < theta[h] < model.theta_high[h]]
    return tuple(model.parameters[min(model.linear + h, len(model.parameters) - 1)].name for h in ends)


def _like(asked: ArrayLike, found: NDArray[np.float64]) -> Any:
    return float(found[0]) if np.ndim(asked) == 0 else found.reshape(np.shape(asked))


def fit(points: Points, model: str | Model = "gab", residual: str = "moisture") -> Fit:
    """One isotherm model fitted by least squares, at the global optimum within the admissible parameters.

        min over p of sum ((X_i - X(a_i; p))/u(X_i))^2; in a_w, or along the errors of both, where asked
    points: the measured points [1], as many as the model has parameters or more.
    model: name or key of the model [text].
    residual: what is minimised [text], moisture, a_w or both.
    Returns: Fit.
    Raises: UnknownNameError for a model, InputError for too few points or missing uncertainties.
    Beyond: points outside the model's a_w range are left out, with a warning.
    Example: noiseless GAB points of monolayer 0.0658, C 12.4, K 0.93 give these back to 1e-6.
    Source: GolubPereyra1973.
    """
    from isohume.product.sorption.fitting import fitted
    from isohume.product.sorption.fitting_in_a_w import fitted_in_a_w

    known = model_named(model) if isinstance(model, str) else model
    if known.needs_temperature and points.temperature_c is None:
        raise InputError("temperature_c", None, f"a temperature a point: {known.name} has temperature in it")
    if residual not in RESIDUALS:
        raise InputError("residual", residual, "moisture, a_w or both")
    if residual == "moisture":
        return fitted(points, (known.key,))[0]
    return fitted_in_a_w(points, known, both=residual == "both")
