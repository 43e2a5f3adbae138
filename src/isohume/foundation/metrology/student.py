"""Student's t distribution in plain arithmetic: distribution function and quantile for any dof of 1 or more.

The command line prints coverage factors; this keeps it from loading a numerical library for them.
"""

from __future__ import annotations

import math

from isohume.foundation.metrology.normal import normal_cdf, normal_quantile
from isohume.foundation.quantity.errors import InputError, RangeError

_LARGE_DOF = 1e5  # beyond it Hill's expansion about the normal distribution is good to a float's last digits
_SMALLEST_TAIL = 1e-30
_TINY = 1e-300
_SETTLED = 1e-9  # Newton squares the error: after a step this small a float has no digits left to gain


def student_cdf(t: float, dof: float) -> float:
    """The probability that a Student variable is at most t.

        F(t) = 1 - I_x(dof/2, 1/2)/2 for t >= 0, x = dof/(dof + t^2), I the regularised incomplete beta
    t: standardised distance [1], finite.
    dof: degrees of freedom [1], 1 or more, infinity allowed (the normal distribution).
    Returns: probability [1].
    Raises: InputError for a t that is not finite; RangeError for dof below 1.
    Example: f(2.9208, 16) = 0.995 (t table of the source).
    Source: JCGM100, G.3 and table G.2.
    """
    if not math.isfinite(t):
        raise InputError("t", t, "a finite number")
    _need_dof(dof)
    if dof > _LARGE_DOF:
        return float(normal_cdf(_as_normal(t, dof)))
    tail = _tail(abs(t), dof)
    return tail if t < 0.0 else 1.0 - tail


def student_quantile(probability: float, dof: float) -> float:
    """The t below which a Student variable falls with the given probability.

        F(t) = probability, by Newton's method where the curve is concave, so that it cannot run away
    probability: probability [1], between 1e-30 and 1, both excluded.
    dof: degrees of freedom [1], 1 or more, infinity allowed (the normal distribution).
    Returns: standardised distance [1].
    Raises: RangeError for a probability at or beyond its ends, or dof below 1.
    Beyond: 0 and 1 have no finite quantile.
    Example: f(0.995, 16) = 2.92 (end-gauge example, k at 99 %).
    Source: JCGM100, G.3 and table G.2.
    """
    if not _SMALLEST_TAIL <= probability < 1.0:
        raise RangeError("probability", probability, _SMALLEST_TAIL, 1.0, why="both ends excluded")
    _need_dof(dof)
    if dof > _LARGE_DOF:
        return _as_student(normal_quantile(probability), dof)
    upper = probability > 0.5
    tail = 1.0 - probability if upper else probability
    t = _near_centre(tail, dof) if tail > 0.25 else _far_out(tail, dof)
    return t if upper else -t


def _need_dof(dof: float) -> None:
    if not dof >= 1.0:
        raise RangeError("dof", dof, 1.0, math.inf, why="degrees of freedom")


def _as_student(z: float, dof: float) -> float:
    """The t with the probability of the normal deviate z: Hill's expansion (1970) read backwards."""
    a = dof - 0.5
    w = z - (z**3 + 3.0 * z) / (48.0 * a * a)
    return math.copysign(math.sqrt(dof * math.expm1(w * w / a)), z) if math.isfinite(dof) else z


def _as_normal(t: float, dof: float) -> float:
    """The normal deviate with the probability of t, by Hill's expansion, which keeps its digits far out in the tail."""
    if math.isinf(dof):
        return t
    a = dof - 0.5
    w = math.copysign(math.sqrt(a * math.log1p(t * t / dof)), t)
    return w + (w**3 + 3.0 * w) / (48.0 * a * a)


def _near_centre(tail: float, dof: float) -> float:
    """F is concave for t > 0: Newton from 0 climbs to the root without passing it."""
    t = 0.0
    for _ in range(60):
        step = (_tail(t, dof) - tail) / _density(t, dof)
        t += step
        if abs(step) <= _SETTLED * (1.0 + t):
            break
    return t


def _far_out(tail: float, dof: float) -> float:
    """ln Q is concave in ln t: Newton passes the root once at most and then walks down to it."""
    log_t = math.log(-normal_quantile(tail))
    target = math.log(tail)
    for _ in range(60):
        t = math.exp(log_t)
        q = _tail(t, dof)
        step = (math.log(q) - target) * q / (t * _density(t, dof))
        log_t += step
        if abs(step) <= _SETTLED:
            break
    return math.exp(log_t)


def _density(t: float, dof: float) -> float:
    return _gamma_ratio(dof) * math.exp(-0.5 * (dof + 1.0) * math.log1p(t * t / dof)) / math.sqrt(dof * math.pi)


def _gamma_ratio(dof: float) -> float:
    """Gamma((dof + 1)/2)/Gamma(dof/2), by its asymptotic series where lgamma would lose digits."""
    a = 0.5 * dof
    if a < 60.0:
        return math.gamma(a + 0.5) / math.gamma(a)
    b = 1.0 / a
    series = 1.0 + b * (-1 / 8 + b * (1 / 128 + b * (5 / 1024 + b * (-21 / 32768 - b * 399 / 262144))))
    return math.sqrt(a) * series


def _tail(t: float, dof: float) -> float:
    """Q(t) for t >= 0: half the regularised incomplete beta, by its continued fraction on the fast side."""
    if t == 0.0:
        return 0.5
    square = t * t
    x, y = dof / (dof + square), square / (dof + square)
    a, b = 0.5 * dof, 0.5
    # x^a y^b / B(a, b), with B(a, 1/2) = sqrt(pi) Gamma(a)/Gamma(a + 1/2)
    front = math.exp(-a * math.log1p(square / dof)) * math.sqrt(y) * _gamma_ratio(dof) / math.sqrt(math.pi)
    if x < (a + 1.0) / (a + b + 2.0):
        return 0.5 * front * _fraction(x, a, b) / a
    return 0.5 * (1.0 - front * _fraction(y, b, a) / b)


def _fraction(x: float, a: float, b: float) -> float:
    """The continued fraction of the incomplete beta function, from the front (Lentz)."""
    c = 1.0
    d = 1.0 / _not_zero(1.0 - (a + b) * x / (a + 1.0))
    value = d
    for m in range(1, 2000):
        even = m * (b - m) * x / ((a + 2 * m - 1.0) * (a + 2 * m))
        odd = -(a + m) * (a + b + m) * x / ((a + 2 * m) * (a + 2 * m + 1.0))
        for numerator in (even, odd):
            d = 1.0 / _not_zero(1.0 + numerator * d)
            c = _not_zero(1.0 + numerator / c)
            value *= d * c
        if abs(d * c - 1.0) < 1e-16:
            break
    return value


def _not_zero(number: float) -> float:
    return number if abs(number) > _TINY else _TINY
