"""The band of the heat curve by bootstrap: what the heat would be if every isotherm were measured again."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from isohume.foundation.metrology.normal import normal_quantile
from isohume.foundation.metrology.student import student_quantile
from isohume.foundation.quantity.errors import InputError
from isohume.product.sorption.catalogue import place_of
from isohume.product.sorption.evaluation import inverse_of
from isohume.product.sorption.heat import Heat, HeatRow, isosteric_heat, places_of
from isohume.product.sorption.heat_at_moisture import Place, heat_at
from isohume.product.sorption.isotherm_fit import Fit
from isohume.product.sorption.net_heat import ZERO_C_IN_K
from isohume.product.sorption.resampling import bootstrap

_ENDS = 1e-9  # how close to 0 and 1 a replicate's a_w may lie
_LOST = 0.05  # share of replicates without a heat above which there is no band


def bootstrap_heat(
    fits: Fit | Sequence[Fit],
    moisture_db: Sequence[float] | None = None,
    *,
    at_c: float | None = None,
    between_c: tuple[float, float] | None = None,
    level: float = 0.95,
    replicates: int = 1000,
    seed: int = 0,
) -> Heat:
    """The net isosteric heat with its band by bootstrap of the isotherms, in place of their covariance.

        q* = sum of c_i ln a*_i(X); quantiles of q*, widened by t/z and where the line over 1/T is bent
    fits: one fit of a model with temperature, or one fit a temperature [text], in moisture.
    moisture_db: where the heat is asked for [kg/kg dry basis]; 15 over the common range if left.
    at_c: temperature of the derivative [degC], as in isosteric_heat.
    between_c: two temperatures whose mean heat is asked for [degC], as in isosteric_heat.
    level: coverage of the band [1], above 0 and below 1.
    replicates: how many times the isotherms are drawn again [1], 100 or more.
    seed: of the random draws [1]; the same seed gives the same band.
    Returns: Heat [kJ/mol] with the values of isosteric_heat and the band of the replicates.
    Raises: InputError as isosteric_heat and bootstrap do, and for fewer than 100 replicates.
    Beyond: a moisture that more than 5 % of the replicates do not reach has no band.
    Source: EfronTibshirani1993, 9.5.
    """
    if replicates < 100:
        raise InputError("replicates", replicates, "100 or more: a band is read off the tails")
    plain = isosteric_heat(fits, moisture_db, at_c=at_c, between_c=between_c, level=level)
    places = places_of(fits, at_c, between_c)
    x = np.array([row.moisture_db for row in plain.rows])
    draws: dict[int, NDArray[np.float64]] = {}
    for number, (fit, _) in enumerate(places):
        if id(fit) not in draws:
            draws[id(fit)] = bootstrap(fit, replicates, seed + number).parameters[fit.model.key]
    logs = [_log_a_w(place, draws[id(place[0])], x) for place in places]
    rows = tuple(
        _banded(row, places, np.array([each[:, i] for each in logs]), level) for i, row in enumerate(plain.rows)
    )
    return replace(plain, rows=rows, method=f"{plain.method}; band by {replicates} bootstrap replicates")


def _log_a_w(place: Place, parameters: NDArray[np.float64], x: NDArray[np.float64]) -> NDArray[np.float64]:
    """ln a_w of every replicate (rows) at each moisture (columns); nan where a replicate does not reach it."""
    fit, temperature = place
    low, high = max(_ENDS, fit.model.valid_a_w[0]), min(1.0 - _ENDS, fit.model.valid_a_w[1])
    kelvin, model = np.array([temperature + ZERO_C_IN_K]), place_of(fit.model.key)
    found = np.array([inverse_of(model, x, kelvin, np.ascontiguousarray(values), low, high) for values in parameters])
    logs: NDArray[np.float64] = np.log(found)
    return logs


def _banded(row: HeatRow, places: Sequence[Place], logs: NDArray[np.float64], level: float) -> HeatRow:
    """One row with the band of its replicates."""
    found = heat_at(places, row.moisture_db)
    q = np.array(found.coefficients) @ logs
    q = q[np.isfinite(q)]
    if q.size < (1.0 - _LOST) * logs.shape[1] or found.stated is None:
        return replace(row, u_kj_mol=None, low=None, high=None)
    tail = 0.5 * (1.0 - level)
    low, high = np.quantile(q, [tail, 1.0 - tail])
    widen = student_quantile(1.0 - tail, max(1.0, found.dof)) / normal_quantile(1.0 - tail)
    bent = np.sqrt(1.0 + found.excess / found.stated) if found.stated > 0.0 else 1.0
    centre, reach = found.value, float(widen * bent)
    return replace(
        row,
        u_kj_mol=float(np.std(q, ddof=1) * bent),
        low=centre + reach * (float(low) - centre),
        high=centre + reach * (float(high) - centre),
    )
