"""Exponential and logarithm in plain arithmetic: a loop over them is turned into vector instructions, one over math's
own is not.

    exp(x) = 2^k exp(r), k the whole number nearest to x/ln 2, |r| <= ln(2)/2
    ln(x) = e ln 2 + 2 atanh(s), x = m 2^e, s = (m - 1)/(m + 1), m from 1/sqrt(2) to sqrt(2)

Both are good to a few units in the last place; exp from -700 to 700, ln for positive numbers that are not subnormal.
"""

from __future__ import annotations

from typing import Any

from llvmlite import ir  # type: ignore[import-untyped]
from numba import types
from numba.extending import intrinsic

from isohume.bench.reading.settling.kernels.compiled import inlined

_MOST = 700.0
_PER_LN2 = 1.4426950408889634
_LN2, _LN2_REST = 6.93147180369123816490e-01, 1.90821492927058770002e-10  # the first ends in zeros: k times it is exact
_SHIFT = 6755399441055744.0  # 1.5 x 2^52: a double that large has no digits after the point
_BITS, _BIAS = 52, 1023  # digits of a double, and what its exponent is counted from
_DIGITS = (1 << _BITS) - 1
_WHOLE = 4503599627370496.0  # 2^52: its last bits are a whole number
_SQRT_2 = 1.4142135623730951


def _as_power(typing: Any, shifted: Any) -> Any:
    """2^k of k + _SHIFT: the last bits of that sum are k, and become the exponent."""

    def code(context: Any, builder: Any, signature: Any, values: Any) -> Any:
        whole = ir.IntType(64)
        bits = builder.shl(builder.bitcast(values[0], whole), ir.Constant(whole, _BITS))
        return builder.bitcast(builder.add(bits, ir.Constant(whole, _BIAS << _BITS)), ir.DoubleType())

    return types.float64(types.float64), code


def _as_exponent(typing: Any, x: Any) -> Any:
    """e of x = m 2^e, 1 <= m < 2, as a double: the exponent's bits become the last bits of 2^52."""

    def code(context: Any, builder: Any, signature: Any, values: Any) -> Any:
        whole = ir.IntType(64)
        bits = builder.lshr(builder.bitcast(values[0], whole), ir.Constant(whole, _BITS))
        bits = builder.or_(bits, ir.Constant(whole, (_BIAS + _BITS) << _BITS))
        shifted = builder.bitcast(bits, ir.DoubleType())
        return builder.fsub(shifted, ir.Constant(ir.DoubleType(), _WHOLE + _BIAS))

    return types.float64(types.float64), code


def _as_digits(typing: Any, x: Any) -> Any:
    """m of x = m 2^e, 1 <= m < 2."""

    def code(context: Any, builder: Any, signature: Any, values: Any) -> Any:
        whole = ir.IntType(64)
        bits = builder.and_(builder.bitcast(values[0], whole), ir.Constant(whole, _DIGITS))
        return builder.bitcast(builder.or_(bits, ir.Constant(whole, _BIAS << _BITS)), ir.DoubleType())

    return types.float64(types.float64), code


_two_to: Any = intrinsic(_as_power)
_exponent: Any = intrinsic(_as_exponent)
_digits: Any = intrinsic(_as_digits)


@inlined
def exponential(x):
    """exp(x); beyond -700 and 700 it stays what it is there."""
    x = min(max(x, -_MOST), _MOST)
    shifted = x * _PER_LN2 + _SHIFT
    k = shifted - _SHIFT
    r = (x - k * _LN2) - k * _LN2_REST
    rest = 1.0 / 39916800.0 + r * (1.0 / 479001600.0 + r * (1.0 / 6227020800.0))
    rest = 1.0 / 362880.0 + r * (1.0 / 3628800.0 + r * rest)
    rest = 1.0 / 5040.0 + r * (1.0 / 40320.0 + r * rest)
    rest = 1.0 / 120.0 + r * (1.0 / 720.0 + r * rest)
    rest = 1.0 / 6.0 + r * (1.0 / 24.0 + r * rest)
    scale = _two_to(shifted)
    return scale + scale * (r + r * r * (0.5 + r * rest))


@inlined
def logarithm(x):
    """ln(x) of a positive number."""
    e, m = _exponent(x), _digits(x)
    large = m > _SQRT_2
    m, e = (0.5 * m if large else m), (e + 1.0 if large else e)
    s = (m - 1.0) / (m + 1.0)
    q = s * s
    rest = 1.0 / 17.0 + q * (1.0 / 19.0 + q * (1.0 / 21.0))
    rest = 1.0 / 13.0 + q * (1.0 / 15.0 + q * rest)
    rest = 1.0 / 9.0 + q * (1.0 / 11.0 + q * rest)
    rest = 1.0 / 5.0 + q * (1.0 / 7.0 + q * rest)
    return e * _LN2 + (2.0 * s + (2.0 * s * q * (1.0 / 3.0 + q * rest) + e * _LN2_REST))
