"""Copies the published tables into the package: `python builders/published_tables.py FOLDER`.

The column `address` (where a row was read, usually a secondary place) is dropped and web places inside other
cells become "a public transcription": the primary source named in `source` is what a reader should cite.
Nothing else changes. Same input, same bytes out.
"""

from __future__ import annotations

import csv
import re
import sys
from pathlib import Path

TABLES = ("water", "saturated_salts", "unsaturated_solutions", "metrology", "isotherms")
TARGET = Path(__file__).parent.parent / "src" / "isohume" / "published" / "tables"
TRANSCRIPTION = "a public transcription"

# a host name, with whatever path follows it, and a file named right after the path
_HOST = (
    r"(?:https?://)?(?:www\.)?(?:[a-z0-9-]+\.)+"
    r"(?:com|org|net|gov|edu|io|pl|us|info)\b(?:/[^\s;,)\"]*)?"
)
_PLACE = re.compile(rf"{_HOST}(?:\s+[\w/.-]+\.(?:c|cs|R|py)\b)?", re.IGNORECASE)
# notes that point at the dropped column
_ADDRESS_PRINTS = re.compile(r"\baddress (?=prints\b)")


def without_places(cell: str) -> str:
    """The cell with every web place replaced by words."""
    return _ADDRESS_PRINTS.sub(f"{TRANSCRIPTION} ", _PLACE.sub(TRANSCRIPTION, cell))


def copied(table: Path, target: Path) -> int:
    """Writes one table; returns the number of rows."""
    with table.open(encoding="utf-8", newline="") as source:
        reader = csv.DictReader(source)
        columns = [name for name in reader.fieldnames or () if name != "address"]
        rows = [{name: without_places(row[name]) for name in columns} for row in reader]
    with target.open("w", encoding="utf-8", newline="") as out:
        writer = csv.DictWriter(out, columns, lineterminator="\n")
        writer.writeheader()
        writer.writerows(rows)
    return len(rows)


def main(folder: Path) -> None:
    """Copies the tables and prints how many rows each has."""
    TARGET.mkdir(parents=True, exist_ok=True)
    for name in TABLES:
        print(f"{name}.csv: {copied(folder / f'{name}.csv', TARGET / f'{name}.csv')} rows")


if __name__ == "__main__":
    if len(sys.argv) != 2:
        sys.exit("usage: python builders/published_tables.py FOLDER_WITH_THE_REFERENCE_CSV_FILES")
    main(Path(sys.argv[1]))
