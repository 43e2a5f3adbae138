"""`--how`: how each figure was found, printed under a verb's answer."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from isohume.foundation.quantity.how import How
from isohume.foundation.quantity.sources import source, sources


def explained(figures: Iterable[How]) -> str:
    """Each figure with formula, inputs, source in full, valid range and what it depends on most."""
    return "".join(f"\n\n{_one(how)}" for how in figures)


def how_json(figures: Iterable[How]) -> dict[str, Any]:
    """The key `how`, where figures were asked for."""
    listed = [how.as_json() for how in figures]
    return {"how": listed} if listed else {}


def _one(how: How) -> str:
    lines = [
        f"How: {how.figure}",
        f"  formula       {how.formula}",
        f"  inputs        {_inputs(how.inputs)}",
        *(f"  source        {source(key) if key in sources() else key}" for key in how.source.split(", ")),
        f"  valid         {how.valid}",
        f"  depends most  on {how.depends_most_on}",
    ]
    return "\n".join(lines)


def _inputs(inputs: dict[str, Any]) -> str:
    return "; ".join(f"{name} = {_shown(value)}" for name, value in inputs.items()) or "none"


def _shown(value: Any) -> str:
    if isinstance(value, dict):
        return "(" + ", ".join(f"{name} {_shown(item)}" for name, item in value.items()) + ")"
    return f"{value:.6g}" if isinstance(value, float) else str(value)
