"""When the lines of a file were said: a file is found some time after it was written, at times hours after.

The last line is as old as the file's own time says; what stands before it is older by the difference of the elapsed
times. Such a moment is the best that a file gives, not one at which anybody listened: it is marked as such.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from isohume.outlets.capture.clock import Moment
from isohume.outlets.capture.line import LineRead

LIVE_S = 10.0  # what was written no longer ago than this was listened to
BY_FILE = "by the file's time: nobody listened when it was read"


@dataclass(slots=True)
class _Stretch:
    """Lines of one run: their elapsed seconds, each at least that of the one before."""

    elapsed: list[float] = field(default_factory=list)
    number: str = ""


def moments_of(reads: Sequence[LineRead], now: Moment, written_ms: int) -> list[Moment]:
    """The moment of each of the lines that were found together; `now` itself where it has just been written.

    reads: the lines in their order, of one run or of several one after the other.
    written_ms: when the file was last written, by the wall's clock.
    """
    ages: list[float] = []
    age = max(0.0, (now.wall_ms - written_ms) / 1000)
    for stretch in reversed(_stretches(reads)):
        last = stretch.elapsed[-1]
        ages += [age + last - one for one in reversed(stretch.elapsed)]
        age += last
    return [now if one <= LIVE_S else now.earlier(one) for one in reversed(ages)]


def _stretches(reads: Sequence[LineRead]) -> list[_Stretch]:
    found: list[_Stretch] = []
    for read in reads:
        stretch = found[-1] if found else None
        before = stretch.elapsed[-1] if stretch is not None else 0.0
        elapsed = float(read.elapsed_s) if read.elapsed_s else before
        another = stretch is not None and bool(read.number and stretch.number and read.number != stretch.number)
        if stretch is None or read.starts or another or elapsed < before:
            stretch = _Stretch()
            found.append(stretch)
            elapsed = float(read.elapsed_s or 0)
        stretch.elapsed.append(elapsed)
        stretch.number = read.number or stretch.number
    return found
