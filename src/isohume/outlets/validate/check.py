"""One outside check: a published row, what isohume computes for it, and how far the two may differ."""

from __future__ import annotations

import csv
import io
from dataclasses import dataclass
from decimal import Decimal
from importlib import resources


@dataclass(frozen=True, slots=True)
class Check:
    """A published value beside the computed one.

    `expected` and `computed` are both numbers in the same unit, or both texts (a verdict, a route).
    `tolerance` is in that unit too and comes from the source: its stated uncertainty or its last printed
    digit; it is 0 for texts, which must be equal. `how` is the row's trust mark, `file` the table's name.
    """

    id: str
    what: str
    source: str
    how: str
    expected: float | str
    computed: float | str
    tolerance: float
    file: str

    @property
    def difference(self) -> float | None:
        """Computed minus expected; None where texts are compared."""
        if isinstance(self.expected, str) or isinstance(self.computed, str):
            return None
        return self.computed - self.expected

    @property
    def holds(self) -> bool:
        """Whether the two agree within the tolerance; NaN never does."""
        difference = self.difference
        if difference is None:
            return self.computed == self.expected
        # a difference of exactly the tolerance must not fail for the last bit of a float
        return abs(difference) <= self.tolerance * (1 + 1e-9)


@dataclass(frozen=True, slots=True)
class Left:
    """A row of a published table that is no check of ours, with the reason."""

    id: str
    file: str
    reason: str


def read_table(name: str) -> list[dict[str, str]]:
    """The rows of a published table, every cell as printed; `name` is the file's name, such as water.csv."""
    name = name if name.endswith(".csv") else f"{name}.csv"
    text = (resources.files("isohume.published") / "tables" / name).read_text(encoding="utf-8")
    return list(csv.DictReader(io.StringIO(text)))


def last_digit(printed: str) -> float:
    """One unit of the last printed digit: 0.01 for 97.30, 1e-11 for 0.353658941E-2."""
    exponent = Decimal(printed.strip()).as_tuple().exponent
    if not isinstance(exponent, int):
        raise ValueError(f"{printed!r} is no printed number")
    return float(Decimal(1).scaleb(exponent))
