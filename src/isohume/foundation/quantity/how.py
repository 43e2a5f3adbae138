"""How a computed figure was found: formula, inputs, source, valid range, and what it depends on most."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any


@dataclass(frozen=True, slots=True)
class How:
    """The explanation that opens at a computed figure, on screen and on paper."""

    figure: str
    formula: str
    source: str
    valid: str
    depends_most_on: str
    inputs: dict[str, Any] = field(default_factory=dict)

    def as_json(self) -> dict[str, Any]:
        """The explanation as the record keeps it."""
        return {
            "figure": self.figure,
            "formula": self.formula,
            "inputs": self.inputs,
            "source": self.source,
            "valid": self.valid,
            "depends_most_on": self.depends_most_on,
        }
