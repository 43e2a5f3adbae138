"""A study calculated: the panel fitted to each set of points, a model chosen, bands by bootstrap, all as plain data.

Called by the worker only: the numerics are loaded when it runs, and the pages read what it saved.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from typing import TYPE_CHECKING, Any

from isohume.foundation.quantity.errors import IsohumeError
from isohume.outlets.site.studies.answers import LEVELS
from isohume.outlets.site.studies.points import PointSet
from isohume.version import __version__

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from isohume.product.sorption.choice import Choice
    from isohume.product.sorption.isotherm_fit import Fit
    from isohume.product.sorption.panel import Panel
    from isohume.product.sorption.points import Points

Report = Callable[[float, str], None]
REPLICATES, SEED = 2000, 0
STEP = 0.0025  # of the saved grid in a_w: a cubic between its points is closer than 1e-6 kg/kg
LOADING = "Loading the numerics."


def calculate(sets: Sequence[PointSet], file_sha256: str, report: Report) -> dict[str, Any]:
    """The whole result: what it was calculated from and with, and every set.

    report: how far it is in percent, in words.
    """
    from isohume.product.sorption import prepare_kernels

    report(2, LOADING)
    prepare_kernels(lambda line: report(2, line))
    fitted = []
    for number, one in enumerate(sets):
        begun, wide = 10 + 85 * number / len(sets), 85 / len(sets)
        name = f"{one.direction} at {one.temperature_c} degC, {len(one.records)} points"
        fitted.append(_fitted(one, _part(report, begun, wide, name)))
    return {
        "schema": "isohume.study/1",
        "isohume": __version__,
        "input_sha256": file_sha256,
        "replicates": REPLICATES,
        "seed": SEED,
        "sets": fitted,
    }


def _part(report: Report, begun: float, wide: float, name: str) -> Report:
    """How far a part is, as a share of the whole."""
    return lambda share, words: report(begun + wide * share, f"{name}: {words}")


def _fitted(given: PointSet, report: Report) -> dict[str, Any]:
    """One set: every model, the choice with its reasons, and the curve with its bands where a model is recommended."""
    from isohume.product.sorption import choose, fit_panel

    points = _points(given)
    report(0.0, "fitting the panel of eleven models")
    plain: dict[str, Any] = {
        "direction": given.direction,
        "temperature_c": given.temperature_c,
        "n": len(given.records),
        "points": [[p.row, p.a_w, p.moisture_db, p.u_a_w, p.u_moisture] for p in given.records],
        "too_few": [],
    }
    try:
        panel = fit_panel(points)
        choice = choose(panel)
    except IsohumeError as error:  # too few points, say: an answer to this set, and the others go on
        return plain | {"models": [], "recommended": None, "reasons": [str(error)], "cautions": [], "curve": None}
    faults = choice.faults
    models = [_model(fit, panel.weights.get(fit.model.key), faults.get(fit.model.key, ())) for fit in panel.fits]
    plain["too_few"] = list(panel.too_few)
    found = plain | {"models": models, "reasons": list(choice.reasons), "cautions": list(choice.cautions)}
    if choice.recommended is None:
        return found | {"recommended": None, "curve": None}
    best = panel[choice.recommended]
    report(0.2, f"bands of {best.model.name} from {REPLICATES} bootstrap replicates")
    return found | {"recommended": best.model.key, "curve": _curve(best, panel, choice)}


def _points(given: PointSet) -> Points:
    from isohume.product.sorption import Points

    records = given.records

    def column(name: str) -> list[float] | None:
        values = [getattr(record, name) for record in records]
        return None if None in values else values

    return Points(
        [record.a_w for record in records],
        [record.moisture_db for record in records],
        u_a_w=column("u_a_w"),
        u_moisture=column("u_moisture"),
        temperature_c=[float(given.temperature_c)] * len(records),
        direction=(given.direction,) * len(records),
    )


def _model(fit: Fit, weight: float | None, faults: Sequence[str]) -> dict[str, Any]:
    """A fitted model as plain data."""
    model = fit.model
    parameters = [
        {
            "name": one.name,
            "unit": one.unit,
            "meaning": one.meaning,
            "value": _plain(fit.parameters[one.name]),
            "u": _plain(fit.u[one.name]),
        }
        for one in model.parameters
    ]
    return {
        "key": model.key,
        "name": model.name,
        "equation": model.equation,
        "source": model.source,
        "where": model.where,
        "verified": model.verified,
        "parameters": parameters,
        "n": int(fit.n),
        "sse": _plain(fit.sse),
        "standard_error": _plain(fit.standard_error),
        "mrd_percent": _plain(fit.mrd_percent),
        "aicc": _plain(fit.aicc),
        "weight": _plain(weight),
        "valid_a_w": [_plain(end) for end in fit.valid_a_w],
        "warnings": list(fit.warnings),
        "faults": list(faults),
    }


def _curve(fit: Fit, panel: Panel, choice: Choice) -> dict[str, Any]:
    """The recommended curve and its bands on a fine grid over the fitted range, ends included."""
    import numpy as np

    from isohume.product.sorption import bootstrap, form_spread, near_models

    low, high = (float(end) for end in fit.valid_a_w)
    a_w = np.linspace(low, high, max(2, math.ceil((high - low) / STEP)) + 1)
    a_w[0], a_w[-1] = low, high  # not a last digit beyond the range
    drawn = bootstrap(fit, replicates=REPLICATES, seed=SEED)
    return {
        "a_w": _list(a_w),
        "moisture": _list(fit.moisture(a_w)),
        "slope": _list(fit.slope(a_w)),
        "u": _list(np.hypot(_u(fit, a_w), form_spread(panel, choice, a_w))),
        "near": [each.model.name for each in near_models(panel, choice)[1:]],
        "dof": int(fit.dof),
        "bands": {name: [_list(end) for end in drawn.band(a_w, level=int(name) / 100)] for name in LEVELS},
    }


def _u(fit: Fit, a_w: NDArray[np.float64]) -> NDArray[np.float64]:
    """The standard uncertainty of the curve, from the covariance of the parameters that are free."""
    import numpy as np

    free = np.isfinite(np.diag(fit.covariance))
    rows = fit.curve(a_w)[2:][free]  # the derivatives by the parameters
    covariance = fit.covariance[np.ix_(free, free)]
    return np.sqrt(np.maximum(np.einsum("ij,ik,kj->j", rows, covariance, rows), 0.0))


def _list(values: Iterable[float]) -> list[float]:
    return [float(value) for value in values]


def _plain(value: float | None) -> float | None:
    """A number, or None where there is none: JSON knows no nan."""
    return None if value is None or not math.isfinite(value) else float(value)
