"""Does a value conform to its limits: the probability, the guard band and the acceptance limits.

The probability speaks of the thing measured (the portions in the cups), with no prior knowledge but the
measurement itself; it says nothing about a lot unless u holds a between-position component.
"""

from __future__ import annotations

import math
from typing import Any, Literal

from isohume.foundation.metrology.normal import normal_cdf, normal_quantile
from isohume.foundation.quantity.errors import InputError, RangeError

_NARROW = 0.01  # an interval this narrow (in u, times the distance) is integrated, not differenced


def probability_of_conformity(value: Any, u: Any, lower: float | None = None, upper: float | None = None) -> Any:
    """The probability that the measured quantity lies within its limits, by a normal distribution.

        p = Phi((upper - value)/u) - Phi((lower - value)/u)
    value: the measured value [same unit as the limits], float or array.
    u: its standard uncertainty [same unit], greater than zero, float or array.
    lower: lower limit [same unit], None where there is none.
    upper: upper limit [same unit], None where there is none.
    Returns: probability [1], same shape as value; small ones keep their digits (tails, never 1 - p).
    Raises: InputError where u is not positive, no limit is given, or the limits are crossed.
    Example: f(0.846, 0.004, upper=0.85) = 0.8413447; exactly 0.5 at the limit.
    Source: JCGM106, 7.
    """
    if lower is None and upper is None:
        raise InputError("limit", "none", "a lower limit, an upper limit or both")
    if lower is not None and upper is not None and not lower <= upper:
        raise InputError("lower", lower, f"at most the upper limit {upper}")
    for name, limit in (("lower", lower), ("upper", upper)):
        if limit is not None and not math.isfinite(limit):
            raise InputError(name, limit, "a finite limit")
    if not isinstance(value, (int, float)) or not isinstance(u, (int, float)):
        return _of_arrays(value, u, lower, upper)
    if not math.isfinite(value):
        raise InputError("value", value, "a finite number")
    if not 0.0 < u < math.inf:
        raise InputError("u", u, "a finite standard uncertainty greater than zero")
    above = None if upper is None else (upper - value) / u
    below = None if lower is None else (lower - value) / u
    return _between(below, above)


def _between(below: float | None, above: float | None) -> float:
    if below is None:
        return float(normal_cdf(above))
    if above is None:
        return float(normal_cdf(-below))
    middle, width = 0.5 * (below + above), above - below
    if width * max(1.0, abs(middle)) < _NARROW:
        return _narrow(middle, width)
    if below > 0.0:  # both limits above the value: the difference of two small tails
        return float(normal_cdf(-below) - normal_cdf(-above))
    if above < 0.0:
        return float(normal_cdf(above) - normal_cdf(below))
    return float(1.0 - normal_cdf(below) - normal_cdf(-above))


def _narrow(middle: float, width: float) -> float:
    """The normal density over a narrow interval: midpoint with its even derivatives (Hermite polynomials)."""
    square, second = middle * middle, width * width
    density = math.exp(-0.5 * square) / math.sqrt(2.0 * math.pi)
    bend = (square - 1.0) / 24.0 + second * (square * square - 6.0 * square + 3.0) / 1920.0
    return density * width * (1.0 + second * bend)


def _of_arrays(value: Any, u: Any, lower: float | None, upper: float | None) -> Any:
    import numpy as np

    values, us = np.broadcast_arrays(np.asarray(value, dtype=float), np.asarray(u, dtype=float))
    if not np.isfinite(values).all():
        raise InputError("value", "NaN or infinity in the array", "finite numbers")
    if not ((us > 0.0) & np.isfinite(us)).all():
        raise InputError("u", float(np.min(us)), "finite standard uncertainties greater than zero")
    if lower is None or upper is None:
        return normal_cdf((upper - values) / us if lower is None else (values - lower) / us)
    pairs = zip(((lower - values) / us).ravel(), ((upper - values) / us).ravel(), strict=True)
    return np.array([_between(float(a), float(b)) for a, b in pairs]).reshape(values.shape)


def guard_band(u: float, factor: float = 2.0) -> float:
    """The width by which the acceptance limit lies inside the limit.

        w = factor u
    u: standard uncertainty [unit of the value], greater than zero.
    factor: guard factor r [1], zero (simple acceptance) or more; 2 makes w = U for k = 2.
    Returns: guard band w [unit of the value].
    Raises: InputError where u is not positive or the factor is negative.
    Example: f(0.004) = 0.008.
    Source: ILACG8, 4.2.
    """
    if not 0.0 < u < math.inf:
        raise InputError("u", u, "a finite standard uncertainty greater than zero")
    if not 0.0 <= factor < math.inf:
        raise InputError("factor", factor, "a finite guard factor of zero or more, r in w = r u")
    return factor * u


def acceptance_limits(lower: float | None, upper: float | None, guard: float) -> tuple[float | None, float | None]:
    """The acceptance limits of a specification: each limit moved inwards by the guard band.

        A_L = L + w;  A_U = U - w
    lower: lower limit [unit of the value], None where there is none.
    upper: upper limit [unit of the value], None where there is none.
    guard: guard band w [unit of the value], zero or more.
    Returns: (A_L, A_U) [unit of the value], None where the limit is None.
    Raises: InputError where the guard leaves no acceptance zone or is negative.
    Example: f(None, 0.85, 0.008) = (None, 0.842).
    Source: JCGM106, 8.3.
    """
    if not 0.0 <= guard < math.inf:
        raise InputError("guard", guard, "a finite guard band of zero or more")
    inner_lower = None if lower is None else lower + guard
    inner_upper = None if upper is None else upper - guard
    if inner_lower is not None and inner_upper is not None and inner_lower > inner_upper:
        raise InputError("guard", guard, f"a guard band that leaves an acceptance zone between {lower} and {upper}")
    return inner_lower, inner_upper


def guard_factor_for(probability: float) -> float:
    """The guard factor that gives the wanted probability of conformity at the acceptance limit.

        r = Phi^-1(probability), one limit
    probability: wanted probability of conformity [1], 0.5 up to 1, 1 excluded.
    Returns: guard factor r in w = r u [1].
    Raises: RangeError below 0.5 or at 1.
    Beyond: below 0.5 the acceptance limit would lie outside the limit.
    Example: f(0.95) = 1.6449; f(0.97725) = 2.0000.
    Source: JCGM106, 8.3.
    """
    if not 0.5 <= probability < 1.0:
        raise RangeError("probability", probability, 0.5, 1.0, why="1 excluded")
    return abs(normal_quantile(probability))


def acceptance_limit_relative(
    limit: float,
    relative_u: float,
    probability: float,
    conforms: Literal["below", "above"] = "below",
) -> float:
    """The acceptance limit where the uncertainty is a fixed fraction of the measured value.

        below: A = L/(1 + z u_rel);  above: A = L/(1 - z u_rel);  z = Phi^-1(probability)
    limit: the limit [unit of the value], greater than zero.
    relative_u: relative standard uncertainty of the measured value [1], greater than zero.
    probability: wanted probability of being on the stated side at A [1], 0.5 up to 1.
    conforms: the side of the limit the statement is about, "below" or "above" [text].
    Returns: acceptance limit [unit of the value].
    Raises: InputError where limit or relative_u is not positive, or z u_rel reaches 1.
    Example: f(100, 0.02, 0.999, "above") = 106.59 km/h (printed 107, road speed example).
    Source: JCGM106, 8.3.
    """
    if not 0.0 < limit < math.inf:
        raise InputError("limit", limit, "a finite limit greater than zero")
    if not 0.0 < relative_u < math.inf:
        raise InputError("relative_u", relative_u, "a finite relative uncertainty greater than zero")
    if conforms not in ("below", "above"):
        raise InputError("conforms", conforms, "below or above")
    share = guard_factor_for(probability) * relative_u
    if conforms == "below":
        return limit / (1.0 + share)
    if share >= 1.0:
        raise InputError("relative_u", relative_u, "small enough that z u_rel stays below 1")
    return limit / (1.0 - share)
