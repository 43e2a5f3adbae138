"""Input files for the kill harness: the demonstration day's first lot, moved to the present, one lot id a run."""

from __future__ import annotations

import re
from datetime import UTC, date, datetime, timedelta
from importlib.resources import files
from pathlib import Path

LOT = "SB-0914-01"
FILES = (f"{LOT}.toml", f"{LOT}-readings.csv", "check-ow1-morning.csv", "check-ow1-closing.csv")
WRITTEN_FOR = date(2026, 9, 15)
ISO_DATE = re.compile(r"\b20\d\d-\d\d-\d\d(?=T|\b)")


def write_inputs(folder: Path, lot: str) -> Path:
    """The input files of one lot; returns the lot file's place.

    Every date moves by the same number of days, so that the readings lie in yesterday whatever today is.
    """
    folder.mkdir(parents=True, exist_ok=True)
    shift = datetime.now(UTC).date() - timedelta(days=1) - WRITTEN_FOR
    day = files("isohume.outlets.demo").joinpath("harrow_lane")
    for name in FILES:
        text = day.joinpath(name).read_text(encoding="utf-8")
        text = ISO_DATE.sub(lambda found: (date.fromisoformat(found[0]) + shift).isoformat(), text)
        if name.endswith(".toml"):
            text = text.replace(f'id = "{LOT}"', f'id = "{lot}"')
            assert lot in text
        (folder / name).write_text(text, encoding="utf-8")
    return folder / FILES[0]
