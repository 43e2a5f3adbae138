"""An explanation of the bench's rules as the page's "How do we know" opens it."""

from __future__ import annotations

from typing import Any

from isohume.foundation.quantity.how import How
from isohume.foundation.quantity.sources import source, sources


def how_shown(how: How) -> dict[str, Any]:
    """Formula, inputs, range, what it depends on most, and the source in full, as the part p.how takes them."""
    return {
        "formula": how.formula,
        "inputs": [(name.replace("_", " "), _value(value)) for name, value in how.inputs.items()],
        "range": how.valid,
        "depends": how.depends_most_on,
        "source": "; ".join(str(source(key)) if key in sources() else key for key in how.source.split(", ")),
    }


def _value(value: Any) -> str:
    if isinstance(value, dict):
        return ", ".join(f"{name.replace('_', ' ')} {_value(item)}" for name, item in value.items())
    return f"{value:.6g}" if isinstance(value, float) else str(value)
