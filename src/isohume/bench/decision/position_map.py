"""A map of positions: rows and columns of a lot (racks and zones, shelves and sides), and which of them stands out."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from isohume.bench.decision.strata import position_key
from isohume.foundation.metrology.group_differences import BetweenGroups, between_groups
from isohume.foundation.quantity.errors import InputError


@dataclass(frozen=True, slots=True)
class LineOfMap:
    """Rows, or columns, of a map against repeatability; `worst` is the one whose mean lies worst."""

    names: tuple[str, ...]
    means: tuple[float, ...]
    worst: str
    between: BetweenGroups

    @property
    def stands_out(self) -> bool:
        """Whether they differ by more than repeatability explains, so that the worst one is flagged."""
        return self.between.differ


def place_on_map(position: str, rows: Sequence[str], columns: Sequence[str]) -> tuple[str, str] | None:
    """The row and column that a typed position names.

    position: the place as typed [text], such as rack 3, bottom front.
    rows: the names of the rows [text].
    columns: the names of the columns [text]; none for a map of one column.
    Returns: row and column [text]; None where the position is not on the map.
    Example: "Rack 3 bottom front" on racks and zones -> ("rack 3", "bottom front").
    Source: none.
    """
    known = {position_key(f"{row} {column}"): (row, column) for row in rows for column in columns or ("",)}
    return known.get(position_key(position))


def line_of_map(values: Mapping[str, Sequence[float]], s_r: float, *, wetter_is_worse: bool = True) -> LineOfMap | None:
    """Whether the rows, or the columns, of a map differ by more than repeatability, and which one lies worst.

        F = MS between rows over s_r^2, the portions of a row taken together
    values: the values read in each row by its name [1]; rows without a value are left out.
    s_r: the repeatability standard deviation [1], above zero.
    wetter_is_worse: whether the limit is a maximum [text].
    Returns: the LineOfMap [1]; None where fewer than two rows were read.
    Raises: InputError where s_r is not above zero.
    Example: twelve racks of three zones, the bottom one wetter by 5 s_r -> the bottom rack is flagged.
    Source: ISO5725-2, 7.4.
    """
    if not s_r > 0.0:
        raise InputError("s_r", s_r, "a repeatability standard deviation above zero")
    read = {name: list(xs) for name, xs in values.items() if len(xs) > 0}
    if len(read) < 2:
        return None
    means = {name: sum(xs) / len(xs) for name, xs in read.items()}
    worst = max(means, key=lambda name: means[name] if wetter_is_worse else -means[name])
    return LineOfMap(tuple(means), tuple(means.values()), worst, between_groups(read, s_r))
