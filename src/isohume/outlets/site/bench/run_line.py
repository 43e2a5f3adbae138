"""The a_w line of one run: its number with the limits it is read for and the check that protects it."""

from __future__ import annotations

from typing import get_args

from isohume.outlets.paper.line_spec import (
    LimitMark,
    LimitOperator,
    LineSpec,
    Reference,
    Speaks,
    ValueKind,
    ValueMark,
    fitted,
)
from isohume.outlets.site.bench.models import Run
from isohume.outlets.site.look.screen_line import ScreenLine, screen_line


def run_line(run: Run) -> ScreenLine:
    """The drawn line with its table; a run that does not count stands on it as one that is not used."""
    return screen_line(line_of_run(run))


def line_of_run(run: Run) -> LineSpec:
    """What stands on the line."""
    kind: ValueKind = "reading" if run.counts else "not used"
    value = ValueMark(f"run {run.pk}", float(run.a_w), run.a_w, kind=kind)
    title = f"Run {run.pk} with the limits of lot {run.portion.sample.lot.code} and its references"
    return fitted(title, _references(run), _speaks(run), _limits(run), (value,))


def _references(run: Run) -> tuple[Reference, ...]:
    return tuple(
        Reference(str(s["solution"]), float(s["expected"]), s.get("mean"), s.get("within"))
        for s in run.opening_check.result.get("solutions", ())
        if s.get("expected") is not None
    )


def _speaks(run: Run) -> Speaks | None:
    low, high = run.opening_check.covers_low, run.opening_check.covers_high
    return None if low is None or high is None else Speaks(low, high)


def _limits(run: Run) -> tuple[LimitMark, ...]:
    version = run.portion.sample.lot.specification
    signs: dict[str, LimitOperator] = {sign: sign for sign in get_args(LimitOperator)}
    typed = ((version.lower, version.lower_operator), (version.upper, version.upper_operator))
    return tuple(LimitMark(float(value), signs[sign], value) for value, sign in typed if value)
