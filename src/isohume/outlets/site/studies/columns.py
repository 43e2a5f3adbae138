"""The columns of a file of points: what ours are called, and which of the file's they probably are."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence

from isohume.bench.reading.tables import Row, read_rows
from isohume.foundation.quantity.errors import InputError
from isohume.outlets.site.config.upload import as_table_file, at_file
from isohume.product.sorption.point_file import DIRECTIONS, MOISTURE_COLUMNS, OPTIONAL

BASES = (
    ("moisture_db", "dry basis, kg of water per kg of dry solids"),
    ("moisture_db_percent", "dry basis, g of water per 100 g of dry solids"),
    ("moisture_wb", "wet basis, kg of water per kg as is"),
    ("moisture_wb_percent", "wet basis, g of water per 100 g as is (%)"),
)
NAMES = {
    "a_w": "a_w",
    "moisture": "Moisture",
    "temperature_c": "Temperature, degC",
    "direction": "Direction",
    "u_a_w": "Standard uncertainty u of a_w",
    "u_moisture": "Standard uncertainty u of the moisture",
}
MOST_ROWS = 500
_A_W = re.compile(r"aw|a w|water activity|activity")
_DRY, _WET = re.compile(r"\bdb\b|\bdry\b|\bd b\b"), re.compile(r"\bwb\b|\bwet\b|\bw b\b|as is")
_MOISTURE = re.compile(r"\b(moisture|water content|emc|mc|x|w)\b")
_PERCENT = re.compile(r"%|percent|/ ?100")


def rows_of(name: str, content: bytes) -> list[Row]:
    """The rows of an uploaded file, its columns called as the file calls them.

    Raises: InputError naming file, row and column for anything that would have to be guessed.
    """
    with as_table_file(name, content) as path:
        rows: list[Row] = []
        try:
            for row in read_rows(path, ()):
                if len(rows) == MOST_ROWS:
                    raise InputError("file", f"more than {MOST_ROWS} rows", f"at most {MOST_ROWS} points at once")
                rows.append(row)
        except InputError as error:
            raise at_file(error) from None
    return rows


def headings_of(rows: Sequence[Row]) -> list[str]:
    """How the columns are called, in their order."""
    return [heading for heading in rows[0].cells if heading] if rows else []


def guessed(headings: Sequence[str]) -> dict[str, str]:
    """Which column of the file is probably which of ours, and the moisture's basis where its heading says it.

    Nothing is settled by a guess: the page shows it, and it can be changed. A basis that no heading names is not
    guessed at all.
    """
    found: dict[str, str] = {}
    left = list(headings)
    for name in ("u_a_w", "u_moisture", "temperature_c", "direction", "a_w", "moisture"):
        heading = next((one for one in left if _looks_like(name, one)), "")
        if heading:
            found[name] = heading
            left.remove(heading)
    basis = _basis(found.get("moisture", ""))
    return {**found, "basis": basis} if basis else found


def _looks_like(name: str, heading: str) -> bool:
    plain = _plain(heading)
    if re.match(r"u\b|u (of )?|std|sd\b|uncertainty", plain) and plain != "u":
        return name == "u_a_w" if _A_W.search(plain) else name == "u_moisture" and bool(_moist(plain))
    if name == "temperature_c":
        return bool(re.match(r"temp|t c$|t$|deg ?c", plain))
    if name == "direction":
        return bool(re.match(r"direction|branch|sorption$|ads des", plain))
    if name == "a_w":
        return bool(re.match(r"a ?w\b|water activity|activity|erh|rh\b", plain))
    return name == "moisture" and bool(_moist(plain))


def _moist(plain: str) -> bool:
    return bool(_MOISTURE.search(plain) or _DRY.search(plain))


def _plain(heading: str) -> str:
    return re.sub(r"[\s_()\[\],.;:-]+", " ", heading.casefold()).strip()


def _basis(heading: str) -> str:
    plain = _plain(heading)
    dry, wet = bool(_DRY.search(plain)), bool(_WET.search(plain))
    if dry == wet:
        return ""
    return f"moisture_{'db' if dry else 'wb'}{'_percent' if _PERCENT.search(plain) else ''}"


def mapped(columns: Mapping[str, str], basis: str, headings: Sequence[str]) -> dict[str, str]:
    """Our column names -> the file's, with the moisture under the name of its basis.

    Raises: InputError at the field of the form, columns_a_w and so on.
    """
    if basis not in MOISTURE_COLUMNS:
        raise InputError("basis", basis or "nothing", "the basis and unit of the moisture: a bare number has none")
    found: dict[str, str] = {}
    for name in ("a_w", "moisture", *OPTIONAL):
        theirs = columns.get(name, "")
        if not theirs and name in ("a_w", "moisture"):
            raise InputError(f"columns_{name}", "nothing", "a column of the file")
        if not theirs:
            continue
        if theirs not in headings:
            raise InputError(f"columns_{name}", theirs, f"a column of the file: {', '.join(headings)}")
        if theirs in found.values():
            raise InputError(f"columns_{name}", theirs, "each column of the file once")
        found[basis if name == "moisture" else name] = theirs
    return found


def direction_typed(text: str) -> str:
    """The direction of all points of a file."""
    if text not in DIRECTIONS:
        raise InputError("direction", text or "nothing", f"{' or '.join(DIRECTIONS)}, or a column that says it")
    return text
