"""A value that knows where its uncertainty came from, so that x - x is exactly certain.

Every independent cause of uncertainty is an influence; a Measured carries how much each one moves it.
Arithmetic adds these movements with their signs, and two results that share a cause are correlated without
anyone saying so. Linear propagation: where u is large or a model bends, hold it against Monte Carlo.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from types import MappingProxyType

from isohume.foundation.quantity.errors import InputError, RangeError


class Influence:
    """One independent cause of uncertainty, with its degrees of freedom; the same only as itself.

    Influences of one `group` come from the same data and share its degrees of freedom.
    """

    __slots__ = ("dof", "group", "name")

    def __init__(self, name: str, dof: float, group: object | None = None) -> None:
        self.name, self.dof = name, dof
        self.group = self if group is None else group

    def __copy__(self) -> Influence:
        return self

    def __deepcopy__(self, memo: object) -> Influence:
        return self  # a copy is the same cause: a number minus its copy is still certain

    def __reduce__(self) -> str:
        raise TypeError("a Measured cannot be pickled: its correlations would be lost")

    def __repr__(self) -> str:
        return f"Influence({self.name!r}, dof={self.dof:g})"


class Measured:
    """A value, its standard uncertainty, its degrees of freedom, and the influences behind them."""

    __slots__ = ("_movements", "_value")

    _value: float
    _movements: dict[Influence, float]

    def __init__(self, value: float, u: float = 0.0, dof: float = math.inf, name: str = "") -> None:
        if not math.isfinite(value):
            raise InputError("value", value, "a finite number")
        if not 0.0 <= u < math.inf:
            raise InputError("u", u, "a finite standard uncertainty of zero or more")
        if not dof >= 1.0:
            raise RangeError("dof", dof, 1.0, math.inf, why="degrees of freedom")
        self._value = float(value)
        self._movements = {Influence(name, float(dof)): float(u)} if u > 0.0 else {}

    @property
    def value(self) -> float:
        """The best estimate."""
        return self._value

    @property
    def u(self) -> float:
        """The standard uncertainty."""
        return math.hypot(*self._movements.values())

    @property
    def movements(self) -> Mapping[Influence, float]:
        """How far one standard uncertainty of each influence moves the value, signed."""
        return MappingProxyType(self._movements)

    @property
    def dof(self) -> float:
        """The effective degrees of freedom (Welch and Satterthwaite), infinite where nothing limits them."""
        total = math.fsum(m * m for m in self._movements.values())
        if total == 0.0:
            return math.inf
        shares: dict[object, tuple[float, float]] = {}
        for influence, movement in self._movements.items():
            share, _ = shares.get(influence.group, (0.0, 0.0))
            shares[influence.group] = (share + movement * movement / total, influence.dof)
        limiting = math.fsum(share * share / dof for share, dof in shares.values())
        return 1.0 / limiting if limiting > 0.0 else math.inf

    def __repr__(self) -> str:
        return f"Measured({self._value!r}, u={self.u:.6g}, dof={self.dof:.4g})"

    def __bool__(self) -> bool:
        raise TypeError("a Measured is neither true nor false: compare its value, or its probability")

    def __neg__(self) -> Measured:
        return _derived(-self._value, (self, -1.0))

    def __pos__(self) -> Measured:
        return self

    def __add__(self, other: Measured | float) -> Measured:
        y = _measured(other)
        return _derived(self._value + y._value, (self, 1.0), (y, 1.0))

    def __radd__(self, other: float) -> Measured:
        return self + other

    def __sub__(self, other: Measured | float) -> Measured:
        y = _measured(other)
        return _derived(self._value - y._value, (self, 1.0), (y, -1.0))

    def __rsub__(self, other: float) -> Measured:
        return _measured(other) - self

    def __mul__(self, other: Measured | float) -> Measured:
        y = _measured(other)
        return _derived(self._value * y._value, (self, y._value), (y, self._value))

    def __rmul__(self, other: float) -> Measured:
        return self * other

    def __truediv__(self, other: Measured | float) -> Measured:
        y = _measured(other)
        if y._value == 0.0:
            raise InputError("divisor", 0.0, "a value other than zero")
        quotient = self._value / y._value
        return _derived(quotient, (self, 1.0 / y._value), (y, -quotient / y._value))

    def __rtruediv__(self, other: float) -> Measured:
        return _measured(other) / self

    def __pow__(self, other: Measured | float) -> Measured:
        y = _measured(other)
        return _power(self, y)

    def __rpow__(self, other: float) -> Measured:
        return _power(_measured(other), self)


def _measured(other: Measured | float) -> Measured:
    return other if isinstance(other, Measured) else Measured(other)


def _derived(value: float, *parts: tuple[Measured, float]) -> Measured:
    """A new value moved by the influences of others, each with its derivative."""
    if not math.isfinite(value):
        raise InputError("result", value, "a finite number")
    movements: dict[Influence, float] = {}
    for operand, slope in parts:
        for influence, movement in operand.movements.items():
            movements[influence] = movements.get(influence, 0.0) + slope * movement
    result = Measured(value)
    result._movements = {influence: m for influence, m in movements.items() if m != 0.0}
    return result


def _power(base: Measured, exponent: Measured) -> Measured:
    x, y = base.value, exponent.value
    if x < 0.0 and (exponent.u > 0.0 or not y.is_integer()):
        raise InputError("base", x, "zero or more, unless the exponent is an exact whole number")
    if x == 0.0 and (y < 1.0 or exponent.u > 0.0):
        raise InputError("base", x, "greater than zero, unless the exponent is exact and 1 or more")
    value = x**y
    by_base = y * x ** (y - 1.0) if y != 0.0 else 0.0
    by_exponent = value * math.log(x) if exponent.u > 0.0 else 0.0
    return _derived(value, (base, by_base), (exponent, by_exponent))


def exp(x: Measured) -> Measured:
    """The exponential of a measured value.

        u(e^x) = e^x u(x)
    x: the exponent [1].
    Returns: the Measured [1].
    Raises: InputError where the result is too large for a number.
    Example: exp(0 +- 0.1) = 1 +- 0.1.
    Source: JCGM100, 5.1.2.
    """
    value = math.exp(x.value) if x.value < 709.0 else math.inf
    return _derived(value, (x, value))


def log(x: Measured) -> Measured:
    """The natural logarithm of a measured value.

        u(ln x) = u(x)/x
    x: the argument [1], greater than zero.
    Returns: the Measured [1].
    Raises: InputError for an argument of zero or less.
    Example: log(2 +- 0.1) = 0.6931 +- 0.05.
    Source: JCGM100, 5.1.2.
    """
    if not x.value > 0.0:
        raise InputError("x", x.value, "greater than zero")
    return _derived(math.log(x.value), (x, 1.0 / x.value))


def covariance(a: Measured, b: Measured) -> float:
    """The covariance of two measured values, from the influences they share.

        u(a, b) = sum of the products of their movements
    a: the first [any unit].
    b: the second [any unit].
    Returns: covariance [unit of a times unit of b].
    Example: covariance(x, x) = u(x)^2.
    Source: JCGM100, 5.2 and F.1.2.3.
    """
    shared = a.movements.keys() & b.movements.keys()
    return math.fsum(a.movements[one] * b.movements[one] for one in shared)


def correlation(a: Measured, b: Measured) -> float:
    """The correlation coefficient of two measured values.

        r = u(a, b)/(u(a) u(b))
    a: the first [any unit].
    b: the second [any unit].
    Returns: correlation coefficient [1], -1 to 1.
    Raises: InputError where one of them has no uncertainty.
    Example: correlation(x, -x) = -1.
    Source: JCGM100, 5.2.2.
    """
    scale = a.u * b.u
    if scale == 0.0:
        raise InputError("u", 0.0, "an uncertainty greater than zero in both")
    return max(-1.0, min(1.0, covariance(a, b) / scale))


def correlated(
    values: Sequence[float],
    covariances: Sequence[Sequence[float]],
    dof: float = math.inf,
    names: Sequence[str] | None = None,
) -> tuple[Measured, ...]:
    """Measured values that came together with a covariance matrix, such as offset and slope of a line.

        movements = L, with L L^T the covariance matrix (Cholesky)
    values: the estimates [any units].
    covariances: their covariance matrix [units of the values], symmetric, positive semi-definite.
    dof: the degrees of freedom of the whole [1], 1 or more.
    names: their names [text], None for none.
    Returns: one Measured a value [units of the values].
    Raises: InputError for a matrix of the wrong size or that is no covariance matrix.
    Example: correlated([1, 2], [[0.01, 0.01], [0.01, 0.01]]): their difference has u = 0.
    Source: JCGM100, 5.2 and C.3.4.
    """
    size = len(values)
    if len(covariances) != size or any(len(row) != size for row in covariances):
        raise InputError("covariances", f"{len(covariances)} rows", f"{size} rows of {size} numbers")
    labels = [""] * size if names is None else list(names)
    if len(labels) != size:
        raise InputError("names", f"{len(labels)} names", f"{size}, one a value")
    if not dof >= 1.0:
        raise RangeError("dof", dof, 1.0, math.inf, why="degrees of freedom")
    factor = _cholesky(covariances)
    group = object()
    influences = [Influence(label, float(dof), group) for label in labels]
    results = []
    for value, row in zip(values, factor, strict=True):
        result = Measured(value)
        result._movements = {one: m for one, m in zip(influences, row, strict=True) if m != 0.0}
        results.append(result)
    return tuple(results)


def _cholesky(matrix: Sequence[Sequence[float]]) -> list[list[float]]:
    """The lower factor of a positive semi-definite matrix; a pivot lost to rounding counts as zero."""
    size = len(matrix)
    factor = [[0.0] * size for _ in range(size)]
    for j in range(size):
        if not math.isfinite(matrix[j][j]):
            raise _refused(f"{matrix[j][j]} on the diagonal")
        pivot = matrix[j][j] - math.fsum(x * x for x in factor[j][:j])
        if pivot < -1e-9 * abs(matrix[j][j]):
            raise _refused("a negative variance in some direction")
        zero = pivot <= 1e-14 * matrix[j][j]
        factor[j][j] = 0.0 if zero else math.sqrt(pivot)
        for i in range(j + 1, size):
            scale = math.sqrt(max(0.0, matrix[i][i] * matrix[j][j]))
            if not abs(matrix[i][j] - matrix[j][i]) <= 1e-9 * scale:
                raise _refused("a matrix that is not symmetric")
            rest = matrix[i][j] - math.fsum(a * b for a, b in zip(factor[i][:j], factor[j][:j], strict=True))
            if zero and abs(rest) > 1e-6 * scale:
                raise _refused("a covariance larger than the variances allow")
            factor[i][j] = 0.0 if zero else rest / factor[j][j]
    return factor


def _refused(read: str) -> InputError:
    return InputError("covariances", read, "a symmetric, positive semi-definite matrix of finite numbers")
