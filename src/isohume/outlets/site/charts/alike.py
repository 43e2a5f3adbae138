"""A phase whose values are all alike: shown, without limits of its own, and judged not at all.

A meter that shows three digits often repeats itself over a few checks; one such phase must not take away the limits of
the others.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

from isohume.foundation.metrology.charts_by_point import ChartRules, ControlChart, Phase


def without_limits(values: Sequence[float], rules: ChartRules) -> ControlChart:
    """The values at their level; sigma and limits are those of no scatter, and nothing signals."""
    baseline = len(values) if rules.baseline is None else min(rules.baseline, len(values))
    level, n = values[0], len(values)
    drawn, edge = ((0.0,) * n, 0.0) if rules.kind == "cusum" else (tuple(values), level)
    steps = (None, *(abs(b - a) for a, b in pairwise(values)))
    sums = ((0.0,) * n,) * 2 if rules.kind == "cusum" else ((), ())
    phase = Phase(0, n, level, 0.0, baseline, 0.0)
    return ControlChart(rules, (phase,), drawn, ((edge, edge),) * n, (), steps, (), *sums)
