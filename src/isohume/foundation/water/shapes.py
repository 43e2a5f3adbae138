"""One formula for floats and arrays alike: the same expression runs on `math` and on numpy.

A kernel is written as `kernel(m, x, ...)`, where `m` is `math` for floats and numpy for arrays: both have
`exp`, `log` and `sqrt` under these names. numpy is imported only when an array comes in.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import TYPE_CHECKING, Any, TypeVar

from isohume.foundation.quantity.ranges import ValidRange

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

# A float or an array of floats; a function that takes two gives an array as soon as one of them is one.
Numbers = TypeVar("Numbers", "float", "NDArray[np.float64]")

# elements worked on at a time: the dozen temporaries of a kernel then stay in the processor's cache
BLOCK = 4096


def is_scalar(value: Any) -> bool:
    """Whether a value is one number (a numpy float64 counts as one)."""
    return isinstance(value, (int, float))


def evaluated(kernel: Callable[..., Any], *arguments: Any) -> Any:
    """The kernel's value for floats, or for arrays broadcast against each other."""
    for argument in arguments:
        if not isinstance(argument, (int, float)):
            return _in_blocks(kernel, arguments)
    return kernel(math, *arguments)


def inside(kernel: Callable[..., Any], valid: ValidRange, field: str, value: Any) -> Any:
    """The kernel's value where `value` lies in its valid range; else the RangeError that names `field`."""
    if type(value) is float and valid.low <= value <= valid.high:
        return kernel(math, value)  # the short way, taken a million times a day; NaN fails the comparison
    valid.check(field, value)
    return evaluated(kernel, value)


def _in_blocks(kernel: Callable[..., Any], arguments: tuple[Any, ...]) -> Any:
    import numpy as np

    values = [x if is_scalar(x) else np.asarray(x, dtype=float) for x in arguments]
    shape = np.broadcast_shapes(*(np.shape(x) for x in values))
    flat = [x if is_scalar(x) else np.broadcast_to(x, shape).reshape(-1) for x in values]
    out = np.empty(math.prod(shape))
    for start in range(0, out.size, BLOCK):
        part = slice(start, start + BLOCK)
        out[part] = kernel(np, *(x if is_scalar(x) else x[part] for x in flat))
    return out.reshape(shape)


def between(value: Any, low: Any, high: Any) -> Any:
    """A computed value kept inside the interval it must lie in; moves the last bits only, never an input."""
    if is_scalar(value):
        return min(max(value, low), high)
    import numpy as np

    return np.clip(value, low, high)
