"""A gauge study from its table: readings of parts by analysts, by instruments, or by both."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from isohume.foundation.metrology import GaugeStudy as Found
from isohume.foundation.metrology import gauge_study
from isohume.foundation.quantity.errors import InputError
from isohume.foundation.quantity.typed import read_a_w, read_words
from isohume.outlets.site.comparisons.tables import GivenTable
from isohume.outlets.site.config.upload import at_file

HEADINGS = ("part", "analyst", "reading")
KNOWN = ("instrument",)
WHO = (("analyst", "the analysts"), ("instrument", "the instruments"), ("both", "each analyst on each instrument"))
FEW_PARTS = 5  # no source: common practice asks for five to ten parts that span the range
GOOD, FAIR = 0.01, 0.09  # shares of the variance: 10 % and 30 % of the standard deviation; no source: common practice


def readings_of(table: GivenTable, who: str) -> list[list[str]]:
    """Rows of part, who, a_w as typed.

    Raises: InputError at the field `file`, or at `who` where the file has no such column.
    """
    if who not in dict(WHO):
        raise InputError("who", who or "nothing", "analyst, instrument or both")
    rows = table.rows(HEADINGS[:1] + HEADINGS[2:], (*HEADINGS, *KNOWN))
    columns = ("analyst", "instrument") if who == "both" else (who,)
    found = []
    for row in rows:
        try:
            named = [read_words(row.get(column), column, 60) for column in columns]
            part = read_words(row.get("part"), "part", 60)
            if not part or not all(named):
                raise InputError("part" if not part else columns[named.index("")], "nothing", "a name in every row")
            found.append([part, " on ".join(named), f"{read_a_w(row.get('reading'), 'reading'):f}"])
        except InputError as error:
            raise at_file(error.at(row=row.number)) from None
    return found


def found_of(readings: Sequence[Sequence[str]]) -> Found:
    """The analysis of variance of a study's readings.

    Raises: InputError at the field `file` where the study is not balanced.
    """
    parts, who, values = zip(*readings, strict=True)
    try:
        return gauge_study([float(x) for x in values], parts, who)
    except InputError as error:
        raise at_file(error) from None


def outcome_of(found: Found) -> tuple[str, str]:
    """What it means in words, and its mark."""
    share = found.share(found.gauge_variance)
    if found.total_variance == 0.0:
        return "All readings are alike: nothing can be told from them", "unknown"
    if share <= GOOD:
        return "Reading adds little to what the parts differ by", "pass"
    if share <= FAIR:
        return "Reading adds something: enough for sorting, not for fine steps", "due"
    return "Reading cannot tell these parts apart well", "fail"


def words_of(found: Found) -> list[str]:
    """What has to be said beside the answer."""
    said = [f"{name.capitalize()} came out negative and counts as zero." for name in found.zeroed]
    if found.interaction is None:
        said.append("No sign that some parts read differently for some: the interaction went into the repeatability.")
    if found.parts < FEW_PARTS:
        said.append(f"Only {found.parts} parts: take {FEW_PARTS} or more that span the range you work in.")
    if found.analysts < 3:
        said.append("Two readers say little about readers: the interval of reproducibility is wide.")
    return said


def source_rows(found: Found) -> list[dict[str, Any]]:
    """The lines of the analysis of variance."""
    return [
        {
            "name": one.name,
            "dof": one.dof,
            "ss": f"{one.sum_of_squares:.4g}",
            "ms": f"{one.mean_square:.4g}",
            "f": "" if one.f is None else f"{one.f:.2f}",
            "p": "" if one.p_value is None else ("< 0.001" if one.p_value < 0.001 else f"{one.p_value:.3f}"),
        }
        for one in found.sources
    ]
