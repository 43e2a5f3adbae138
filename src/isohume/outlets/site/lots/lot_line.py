"""The a_w line of a lot: of its record, or, before it is judged, of its limits, readings and opening check."""

from __future__ import annotations

from typing import Any

from isohume.outlets.paper.record_line import line_of
from isohume.outlets.site.bench.models import Lot, Run
from isohume.outlets.site.look.screen_line import ScreenLine, screen_line
from isohume.outlets.site.lots.stop_of_run import stop_of

MOST_READINGS = 24


def lot_line(lot: Lot, runs: tuple[Run, ...], content: dict[str, Any] | None) -> ScreenLine | None:
    """The drawn line with its table; None where there is nothing to draw."""
    spec = line_of(content if content is not None else _not_judged(lot, runs))
    return None if spec is None else screen_line(spec)


def _not_judged(lot: Lot, runs: tuple[Run, ...]) -> dict[str, Any]:
    """What is known before judging, in the form of a record; no result stands in it."""
    version = lot.specification
    counting = [run for run in runs if run.counts][:MOST_READINGS]
    check = counting[0].opening_check if counting else None
    covers = None if check is None or check.covers_low is None else [check.covers_low, check.covers_high]
    return {
        "lot": {"id": lot.code},
        "specification": {
            "lower_limit": _limit(version.lower, version.lower_operator),
            "upper_limit": _limit(version.upper, version.upper_operator),
        },
        "check": check.result if check else {},
        "standing": {"may_measure": check.may_measure if check else False, "covers_a_w": covers},
        "readings": [
            {
                "run": run.pk,
                "a_w": run.a_w.replace(",", "."),
                "portion": run.portion.code,
                "use": "replicate",
                "stopped": stop_of(run)[0],
            }
            for run in counting
        ],
    }


def _limit(value: str, operator: str) -> dict[str, str] | None:
    return {"value": value.replace(",", "."), "operator": operator} if value else None
