"""Writes the critical tables of the metrology part: `python builders/metrology.py FOLDER`.

FOLDER holds the reference file metrology.csv (rows "Dixon ... critical value"); the critical range factors of
ISO 5725-6 are not in it and are kept here, marked as they were got. Same input, same bytes out.
"""

from __future__ import annotations

import csv
import json
import re
import sys
from pathlib import Path

TARGET = Path(__file__).parent.parent / "src" / "isohume" / "foundation" / "metrology"

RANGE_FACTORS = {
    "source": "ISO5725-6",
    "edition": "1994",
    "where": "table 1, probability 95 %",
    "verified": "memory",
    "check": "95 % point of the range of n standard normal values (scipy studentized_range), to one decimal",
    "factors": {
        "2": "2.8",
        "3": "3.3",
        "4": "3.6",
        "5": "3.9",
        "6": "4.0",
        "7": "4.2",
        "8": "4.3",
        "9": "4.4",
        "10": "4.5",
    },
}
DIXON = {
    "Dixon r10 (Q) critical value, two-sided": {
        "key": "r10_two_sided",
        "source": "Rorabacher1991",
        "edition": "Anal. Chem. 63, 139",
        "where": "r10, two-sided",
        "verified": "text",
        "ratios": [["r10", 3, 10]],
    },
    "Dixon critical value, one-sided, ratio changes with n": {
        "key": "one_sided",
        "source": "Dixon1951",
        "edition": "1951, as reprinted by Dean and Dixon",
        "where": "one-sided, ratio chosen by n",
        "verified": "text",
        "ratios": [["r10", 3, 7], ["r11", 8, 10], ["r21", 11, 13], ["r22", 14, 25]],
    },
}
CELL = re.compile(r"n=(\d+) alpha=([0-9.]+)")


def dixon_tables(rows: list[dict[str, str]]) -> dict[str, dict[str, object]]:
    """The two Dixon tables: alpha -> n -> critical value, as printed."""
    tables: dict[str, dict[str, object]] = {}
    for title, about in DIXON.items():
        critical: dict[str, dict[str, str]] = {}
        for row in rows:
            if row["example"] != title:
                continue
            cell = CELL.fullmatch(row["quantity"])
            if cell is None:
                sys.exit(f"{row['id']}: {row['quantity']!r} is not 'n=... alpha=...'")
            critical.setdefault(cell[2], {})[cell[1]] = row["value"]
        if not critical:
            sys.exit(f"no row of {title!r}")
        tables[str(about["key"])] = {k: v for k, v in about.items() if k != "key"} | {"critical": critical}
    return tables


def written(name: str, content: object) -> None:
    """Writes one JSON file beside the code."""
    text = json.dumps(content, indent=1, ensure_ascii=False)
    (TARGET / name).write_text(text + "\n", encoding="utf-8")
    print(f"{name} written")


def main(folder: Path) -> None:
    """Reads metrology.csv of the folder and writes the tables."""
    with (folder / "metrology.csv").open(encoding="utf-8", newline="") as source:
        rows = list(csv.DictReader(source))
    written("dixon.json", dixon_tables(rows))
    written("critical_range_factors.json", RANGE_FACTORS)


if __name__ == "__main__":
    if len(sys.argv) != 2:
        sys.exit("usage: python builders/metrology.py FOLDER_WITH_THE_REFERENCE_CSV_FILES")
    main(Path(sys.argv[1]))
