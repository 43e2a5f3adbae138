"""What a product is allowed to be: its limits with operators, their kind, and the guard the rule asks for."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import Literal

from isohume.foundation.quantity.errors import InputError
from isohume.foundation.quantity.limits import Limit

LimitKind = Literal["safety", "quality"]
DEFAULT_GUARD = Decimal(2)


@dataclass(frozen=True, slots=True)
class Specification:
    """The limits of one product and the rule they are judged by; refused where it leaves nothing inside."""

    lower: Limit | None
    upper: Limit | None
    kind: LimitKind = "safety"
    guard: Decimal = DEFAULT_GUARD
    allow_conditional: bool = False

    def __post_init__(self) -> None:
        if self.lower is None and self.upper is None:
            raise InputError("specification", "no limit", "a minimum, a maximum or both")
        if self.guard < 0:
            raise InputError("guard", self.guard, "a factor r of zero or more, in w = r u")
        if self.lower and self.upper and _empty(self.lower, self.upper):
            raise InputError(
                "minimum", f"{self.lower.value}", f"below the maximum {self.upper.value} (nothing would be inside)"
            )
        if self.allow_conditional and self.kind == "safety":
            raise InputError(
                "allow_conditional", "true", "only with a quality limit; a food-safety limit releases only on pass"
            )

    def admits(self, value: Decimal) -> bool:
        """Whether `value`, unrounded, lies inside every limit."""
        return all(limit.admits(value) for limit in self.limits)

    @property
    def limits(self) -> tuple[Limit, ...]:
        """The limits that exist, lower first."""
        return tuple(limit for limit in (self.lower, self.upper) if limit is not None)

    def guarded(self, guard_band: Decimal) -> Specification:
        """The acceptance zone: every limit moved inwards by the guard band; refused where nothing is left."""
        lower = self.lower.moved(guard_band) if self.lower else None
        upper = self.upper.moved(guard_band) if self.upper else None
        why = _nothing_left(lower, upper)
        if why:
            where = f" between {self.lower} and {self.upper}" if lower and upper else ""
            raise InputError(
                "guard",
                f"{self.guard} (guard band {float(guard_band):.6g})",
                f"a guard band that leaves an acceptance zone{where}; {why}",
            )
        return Specification(lower, upper, self.kind, self.guard, self.allow_conditional)


def _nothing_left(lower: Limit | None, upper: Limit | None) -> str:
    """Why acceptance limits leave no a_w between them, or nothing where they leave some."""
    if lower and upper and _empty(lower, upper):
        return f"it would run from {float(lower.value):.6g} to {float(upper.value):.6g}"
    if upper and upper.value <= 0:
        return f"no a_w lies at or below {float(upper.value):.6g}"
    if lower and lower.value >= 1:
        return f"no a_w lies at or above {float(lower.value):.6g}"
    return ""


def _empty(lower: Limit, upper: Limit) -> bool:
    if lower.value == upper.value:
        return lower.strict or upper.strict
    return lower.value > upper.value
