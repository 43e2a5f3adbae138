"""Which drawn shape stands beside which word of a lot, a verdict or a deviation. A held lot never carries a tick."""

from __future__ import annotations

STATES = {"open": "wait", "judged": "run", "on hold": "hold", "released": "pass", "rejected": "fail"}
_VERDICTS = {"pass": "pass", "conditional pass": "info", "conditional fail": "fail", "fail": "fail"}


def shape_of_verdict(verdict: str, disposition: str, state: str = "") -> str:
    """The shape of a verdict on a lot in this state; what states nothing waits."""
    shape = _VERDICTS.get(verdict, "wait")
    held = disposition != "release" or state == "on hold"
    return "hold" if shape in ("pass", "info") and held else shape
