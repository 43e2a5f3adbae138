"""Charts of phases one after the other, as one chart: a phase that is over need not be reckoned again."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import accumulate, chain

from isohume.foundation.metrology.charts_by_point import ControlChart, Phase
from isohume.foundation.metrology.run_rules import Signal


def joined(parts: Sequence[ControlChart]) -> ControlChart:
    """The parts in this order; places are counted on, the rules are those of the last one."""
    if len(parts) == 1:
        return parts[0]
    begun = [0, *accumulate(len(part.statistic) for part in parts)]
    return ControlChart(
        parts[-1].rules,
        tuple(_later(phase, n) for part, n in zip(parts, begun, strict=False) for phase in part.phases),
        tuple(chain.from_iterable(part.statistic for part in parts)),
        tuple(chain.from_iterable(part.limits for part in parts)),
        tuple(chain.from_iterable(_moved(part.signals, n) for part, n in zip(parts, begun, strict=False))),
        tuple(chain.from_iterable(part.ranges for part in parts)),
        tuple(chain.from_iterable(_moved(part.range_signals, n) for part, n in zip(parts, begun, strict=False))),
        tuple(chain.from_iterable(part.high for part in parts)),
        tuple(chain.from_iterable(part.low for part in parts)),
    )


def _later(phase: Phase, n: int) -> Phase:
    return replace(phase, start=phase.start + n, end=phase.end + n)


def _moved(signals: Sequence[Signal], n: int) -> Iterator[Signal]:
    return (Signal(one.index + n, one.rule, one.first + n, one.side) for one in signals)
