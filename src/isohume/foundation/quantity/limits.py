"""Limits with their operators, compared on decimals as they were typed, never on rounded or binary numbers."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import Literal

Operator = Literal["<", "<=", ">", ">="]


@dataclass(frozen=True, slots=True)
class Limit:
    """A limit as the specification states it: a decimal and its operator (0.8504 is not <= 0.850)."""

    value: Decimal
    operator: Operator

    @property
    def strict(self) -> bool:
        """Whether the limit itself lies outside."""
        return self.operator in ("<", ">")

    @property
    def is_upper(self) -> bool:
        """Whether this is a maximum."""
        return self.operator in ("<", "<=")

    def admits(self, value: Decimal) -> bool:
        """Whether `value`, unrounded, lies inside."""
        match self.operator:
            case "<":
                return value < self.value
            case "<=":
                return value <= self.value
            case ">":
                return value > self.value
            case _:
                return value >= self.value

    def moved(self, by: Decimal) -> Limit:
        """The limit moved inwards by `by` (outwards where negative), with the same operator."""
        return Limit(self.value - by if self.is_upper else self.value + by, self.operator)

    def as_json(self) -> dict[str, object]:
        """The limit as the command line prints it."""
        return {"value": float(self.value), "operator": self.operator}

    def __str__(self) -> str:
        return f"{self.operator} {self.value}"
