"""Copies the measured sorption sets into the package: `python builders/measured_tables.py FOLDER/measured`.

What is the same for all points of a set goes to one row of `measured_sets.csv`; the points to `measured_points.csv`.
Fitted constants and refits keep their cells; refits of other things than sorption stay behind. As in
`published_tables.py`, the column `address` is dropped and web places become words. Same input, same bytes out.
"""

from __future__ import annotations

import csv
import sys
from pathlib import Path

from published_tables import TARGET, without_places

SETS = ("food_pasta", "wood_emc", "grain_emc_table", "vapour_sorption_materials", "reference_carbon_bam_p109")
OF_A_SET = ("set_id", "product", "basis", "units", "source", "how")
OF_A_POINT = ("id", "set_id", "direction", "t_C", "aw", "moisture", "moisture_db_pct", "quoted_by")
_QUOTED = "as quoted by: "


def read(table: Path) -> list[dict[str, str]]:
    """The rows of one table of the reference folder."""
    with table.open(encoding="utf-8", newline="") as source:
        return list(csv.DictReader(source))


def write(name: str, columns: tuple[str, ...], rows: list[dict[str, str]]) -> None:
    """Writes one table of the package and prints how many rows it has."""
    with (TARGET / f"{name}.csv").open("w", encoding="utf-8", newline="") as out:
        writer = csv.DictWriter(out, columns, lineterminator="\n", extrasaction="ignore")
        writer.writeheader()
        writer.writerows([{key: without_places(row[key]) for key in columns} for row in rows])
    print(f"{name}.csv: {len(rows)} rows")


def main(folder: Path) -> None:
    """Writes the four tables."""
    points, sets = [], {}
    for table in SETS:
        for row in read(folder / f"{table}.csv"):
            # a quotation's own place is kept with its point, the quoted work with the set
            row["source"], _, row["quoted_by"] = row["source"].partition(_QUOTED)
            row["source"] = row["source"].strip()
            points.append(row)
            sets.setdefault(row["set_id"], {key: row[key] for key in OF_A_SET})
    write("measured_sets", OF_A_SET, list(sets.values()))
    write("measured_points", OF_A_POINT, points)
    params = read(folder / "params.csv")
    write("isotherm_params", tuple(key for key in params[0] if key != "address"), params)
    ours = {row["set_id"] for row in points} | {"zeolite_hisiv_all", "carbon_sorbonorit4_all", "zeolite13X_all"}
    refits = [row for row in read(folder / "refits.csv") if row["set_id"] in ours]
    numbered = [{"id": f"RF{place:03d}", **row} for place, row in enumerate(refits, start=1)]
    write("isotherm_refits", tuple(numbered[0]), numbered)


if __name__ == "__main__":
    if len(sys.argv) != 2:
        sys.exit("usage: python builders/measured_tables.py FOLDER_WITH_THE_MEASURED_CSV_FILES")
    main(Path(sys.argv[1]))
