"""The section on the correction in force when the lot was read; none where there was none."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from isohume.outlets.paper.blocks import Block, pairs, section, text
from isohume.outlets.paper.record_words import moment, plain, signed

STATEMENT = (
    "What the instrument said stands in the table of readings beside what the correction makes of it. A reading "
    "outside its range is refused, never extrapolated."
)


def correction(record: Mapping[str, Any]) -> Block | None:
    """Which version corrected the readings, by which line, in which range and since when."""
    found = record.get("correction")
    if not found:
        return None
    u = f"u(b0) = {_short(found['u_offset'])}, u(b1) = {_short(found['u_slope'])}, cov = {_short(found['covariance'])}"
    rows = [
        ("Correction", f"{plain(found['id'])}, version {plain(found['version'])}"),
        ("Line", f"corrected = b0 + b1 read; b0 = {signed(float(found['offset']), 5)}, b1 = {plain(found['slope'])}"),
        ("Uncertainty", u),
        ("Holds for", f"readings from {found['lowest_read']} to {found['highest_read']}"),
        ("In force since", moment(found["since"])),
        ("Rests on", plain(found["source"])),
    ]
    return section("Correction of readings", pairs(rows), text(STATEMENT))


def _short(value: float) -> str:
    return f"{float(value):.3g}"
