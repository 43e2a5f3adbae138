"""The exponential in plain arithmetic: a loop over it is turned into vector instructions, one over math.exp is not.

    exp(x) = 2^k exp(r), k the whole number nearest to x/ln 2, r = x - k ln 2 in two parts, |r| <= ln(2)/2

exp(r) - 1 is its Taylor polynomial to r^13, the next term of which lies below rounding. Good to two units in the last
place from -708 to 709; beyond it stays what it is at the end, as good as nothing or as endless.
"""

from __future__ import annotations

from typing import Any

from llvmlite import ir  # type: ignore[import-untyped]
from numba import types
from numba.extending import intrinsic

from isohume.product.sorption.kernels.compiled import arithmetic

_LEAST, _MOST = -708.0, 709.0
_PER_LN2 = 1.4426950408889634
_LN2, _LN2_REST = 6.93147180369123816490e-01, 1.90821492927058770002e-10  # the first ends in zeros: k times it is exact
_SHIFT = 6755399441055744.0  # 1.5 x 2^52: a double that large has no digits after the point
_BITS, _BIAS = 52, 1023  # digits of a double, and what its exponent is counted from


def _as_power(typing: Any, shifted: Any) -> Any:
    """2^k of k + _SHIFT: the last bits of that sum are k, and become the exponent."""

    def code(context: Any, builder: Any, signature: Any, values: Any) -> Any:
        whole = ir.IntType(64)
        bits = builder.shl(builder.bitcast(values[0], whole), ir.Constant(whole, _BITS))
        return builder.bitcast(builder.add(bits, ir.Constant(whole, _BIAS << _BITS)), ir.DoubleType())

    return types.float64(types.float64), code


_two_to: Any = intrinsic(_as_power)


@arithmetic
def _near_zero(r):
    """exp(r) - 1 for |r| up to ln(2)/2."""
    rest = 1.0 / 479001600.0 + r * (1.0 / 6227020800.0)
    rest = 1.0 / 39916800.0 + r * rest
    rest = 1.0 / 3628800.0 + r * rest
    rest = 1.0 / 362880.0 + r * rest
    rest = 1.0 / 40320.0 + r * rest
    rest = 1.0 / 5040.0 + r * rest
    rest = 1.0 / 720.0 + r * rest
    rest = 1.0 / 120.0 + r * rest
    rest = 1.0 / 24.0 + r * rest
    rest = 1.0 / 6.0 + r * rest
    rest = 0.5 + r * rest
    return r + r * r * rest


@arithmetic
def exponential(x):
    """exp(x)."""
    x = min(max(x, _LEAST), _MOST)
    shifted = x * _PER_LN2 + _SHIFT
    k = shifted - _SHIFT
    scale = _two_to(shifted)
    return scale + scale * _near_zero((x - k * _LN2) - k * _LN2_REST)


@arithmetic
def exponential_less_one(x):
    """exp(x) - 1, which keeps its digits where x is small."""
    x = min(max(x, _LEAST), _MOST)
    shifted = x * _PER_LN2 + _SHIFT
    k = shifted - _SHIFT
    scale = _two_to(shifted)
    return (scale - 1.0) + scale * _near_zero((x - k * _LN2) - k * _LN2_REST)
