"""The probability that several measured quantities conform all at once, where part of their error is common to all."""

from __future__ import annotations

import math
from collections.abc import Sequence

from isohume.foundation.metrology.conformity import probability_of_conformity
from isohume.foundation.quantity.errors import InputError

_STEPS = 1600
_REACH = 8.5


def probability_all_conform(
    values: Sequence[float],
    u_own: Sequence[float],
    u_common: float,
    lower: float | None = None,
    upper: float | None = None,
) -> float:
    """The probability that every one of several quantities lies within the limits.

        p = integral phi(z) prod over i of [Phi((U - y_i - u_c z)/u_i) - Phi((L - y_i - u_c z)/u_i)] dz
    values: the measured values y_i [same unit as the limits], at least one.
    u_own: the part of each one's uncertainty that is its own [same unit], such as s_r/sqrt(n); zero or more.
    u_common: the part that shifts them all alike [same unit], such as the instrument's; zero or more.
    lower: lower limit [same unit], None where there is none.
    upper: upper limit [same unit], None where there is none.
    Returns: probability [1]; never above that of the worst one alone, never below the product of all.
    Raises: InputError where lengths differ, an uncertainty is negative, or a value has none at all.
    Example: k values at the limit, own and common part alike: 1/(k + 1).
    Source: JCGM106, 7; Gupta1963, one common factor.
    """
    _need(values, u_own, u_common)
    if u_common == 0.0:
        return math.prod(
            float(probability_of_conformity(y, u, lower, upper)) for y, u in zip(values, u_own, strict=True)
        )
    import numpy as np

    # own parts far below the common one would be steps: a thousandth of it changes nothing that is printed
    floor = 1e-3 * u_common
    z = np.linspace(-_REACH, _REACH, _STEPS + 1)
    product = np.exp(-0.5 * z * z) / math.sqrt(2.0 * math.pi)
    for y, u in zip(values, u_own, strict=True):
        product = product * probability_of_conformity(y + u_common * z, max(u, floor), lower, upper)
    return min(1.0, float(np.trapezoid(product, z)))


def _need(values: Sequence[float], u_own: Sequence[float], u_common: float) -> None:
    if not values or len(values) != len(u_own):
        raise InputError("u_own", f"{len(u_own)} for {len(values)} values", "one a value, at least one")
    if not 0.0 <= u_common < math.inf:
        raise InputError("u_common", u_common, "a finite uncertainty of zero or more")
    for u in u_own:
        if not 0.0 <= u < math.inf or (u == 0.0 and u_common == 0.0):
            raise InputError("u_own", u, "a finite uncertainty of zero or more, above zero where nothing is common")
