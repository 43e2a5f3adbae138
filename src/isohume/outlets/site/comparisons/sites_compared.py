"""Sister sites on one control product: every site's difference from ours against what chance explains."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from isohume.foundation.metrology import (
    MeanDifference,
    VarianceComponents,
    components_from_summaries,
    critical_difference_two_labs,
    mean_difference,
)
from isohume.foundation.quantity.errors import InputError
from isohume.foundation.quantity.typed import read_a_w, read_decimal, read_words
from isohume.outlets.site.comparisons.tables import GivenTable
from isohume.outlets.site.config.upload import at_file
from isohume.outlets.site.register.actions.fields import read_whole

HEADINGS = ("site", "mean", "s", "n")
LEAST, MOST = 2, 30


@dataclass(frozen=True, slots=True)
class SiteLine:
    """One other site against ours."""

    site: str
    difference: float
    critical: float
    welch: MeanDifference | None

    @property
    def agrees(self) -> bool:
        """Whether chance explains the difference."""
        return abs(self.difference) <= self.critical


@dataclass(frozen=True, slots=True)
class SitesCompared:
    """The lines of the others, and what lies between all sites; None where it cannot be told from repeatability."""

    lines: tuple[SiteLine, ...]
    between: VarianceComponents | None

    @property
    def apart(self) -> list[str]:
        """The sites that do not agree with ours."""
        return [one.site for one in self.lines if not one.agrees]

    @property
    def answer(self) -> str:
        """The outcome in words."""
        if not self.apart:
            return "All sites agree with ours" if len(self.lines) > 1 else "Both sites agree"
        return f"{', '.join(self.apart)} and we differ by more than chance explains"[:200]


def rows_of_sites(table: GivenTable) -> list[dict[str, str]]:
    """Rows of site, mean, s, n as typed; ours first.

    Raises: InputError at the field `file`.
    """
    found: list[dict[str, str]] = []
    for row in table.rows(HEADINGS):
        try:
            site = read_words(row.get("site"), "site", 80)
            if not site or site.casefold() in {one["site"].casefold() for one in found}:
                raise InputError("site", site or "nothing", "a name in every row, each once")
            s = read_decimal(row.get("s"), "s", "a standard deviation of 0 to 0.1", thousands_possible=False)
            if not 0 <= s <= read_decimal("0.1", "s"):
                raise InputError("s", row.get("s"), "a standard deviation of 0 to 0.1")
            n = read_whole(row.get("n"), "n", 1, 10000, "readings")
            found.append({"site": site, "mean": f"{read_a_w(row.get('mean'), 'mean'):f}", "s": f"{s:f}", "n": str(n)})
        except InputError as error:
            raise at_file(error.at(row=row.number)) from None
    if not LEAST <= len(found) <= MOST:
        raise InputError("file", f"{len(found)} sites", f"{LEAST} to {MOST} sites, ours in the first row")
    return found


def compared(rows: Sequence[Mapping[str, str]], repeatability: float, reproducibility: float) -> SitesCompared:
    """Every other site against the first row, by the critical difference of two laboratories' means."""
    ours = rows[0]
    lines = []
    for one in rows[1:]:
        critical = critical_difference_two_labs(reproducibility, repeatability, int(ours["n"]), int(one["n"]))
        lines.append(SiteLine(one["site"], float(one["mean"]) - float(ours["mean"]), critical, _welch(one, ours)))
    return SitesCompared(tuple(lines), _between(rows))


def _welch(one: Mapping[str, str], ours: Mapping[str, str]) -> MeanDifference | None:
    """The interval from the sites' own scatter, where both have some."""
    both = (one, ours)
    if any(int(row["n"]) < 2 or float(row["s"]) == 0.0 for row in both):
        return None
    means = float(one["mean"]), float(ours["mean"])
    u_one, u_ours = (float(row["s"]) / math.sqrt(int(row["n"])) for row in both)
    return mean_difference(means, (u_one, u_ours), (int(one["n"]) - 1, int(ours["n"]) - 1))


def _between(rows: Sequence[Mapping[str, str]]) -> VarianceComponents | None:
    if len(rows) < 3 or sum(int(row["n"]) for row in rows) <= len(rows):
        return None
    means, s, n = ([float(row[key]) for row in rows] for key in ("mean", "s", "n"))
    return components_from_summaries(means, s, [int(x) for x in n], "site")
