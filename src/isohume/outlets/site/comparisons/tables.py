"""A table that was chosen as a file or typed as lines: its rows, with every cell as it stands there."""

from __future__ import annotations

from dataclasses import dataclass
from hashlib import sha256
from pathlib import Path

from django.http import HttpRequest

from isohume.bench.reading.tables import Row, read_rows
from isohume.foundation.quantity.errors import InputError
from isohume.foundation.quantity.typed import read_words
from isohume.outlets.site.config.upload import Carried, as_table_file, at_file, carried_by

LARGEST_BYTES = 1_000_000
MOST_ROWS = 2000
TYPED = "typed.csv"


@dataclass(frozen=True)
class GivenTable:
    """A file by name and content; lines that were typed are a CSV file of their own."""

    name: str
    content: bytes

    @property
    def sha256(self) -> str:
        """The digest by which it is known."""
        return sha256(self.content).hexdigest()

    @property
    def carried(self) -> str:
        """The content as a hidden field holds it."""
        return Carried(self.name, self.content).carried

    @property
    def own_name(self) -> str:
        """The file's name without folders, whatever a browser sent."""
        return read_words(self.name.replace("\\", "/").rpartition("/")[2], "file", 200)

    def rows(self, required: tuple[str, ...], known: tuple[str, ...] = ()) -> list[Row]:
        """Its rows.

        Raises: InputError at the field `file`, naming row and column.
        """
        with as_table_file(self.own_name, self.content, LARGEST_BYTES) as path:
            try:
                return _first(path, required, known)
            except InputError as error:
                raise at_file(error) from None


def _first(path: Path, required: tuple[str, ...], known: tuple[str, ...]) -> list[Row]:
    rows: list[Row] = []
    for row in read_rows(path, required, known=(*required, *known)):
        if len(rows) == MOST_ROWS:
            raise InputError("file", f"more than {MOST_ROWS} rows", f"at most {MOST_ROWS} rows at once")
        rows.append(row)
    return rows


def given_table(request: HttpRequest, headings: tuple[str, ...]) -> GivenTable:
    """The file as chosen or carried along, or the lines as typed under the headings that the page names.

    Raises: InputError at the field `file` where neither is given, or the file is too large.
    """
    if request.FILES.get("file") is not None or request.POST.get("content"):
        found = carried_by(request, LARGEST_BYTES)
        return GivenTable(found.name, found.content)
    lines = [line.strip() for line in request.POST.get("lines", "").splitlines() if line.strip()]
    if not lines:
        raise InputError("file", "nothing", "a file, or lines typed below it")
    if len(lines) > MOST_ROWS:
        raise InputError("file", f"{len(lines)} lines", f"at most {MOST_ROWS} rows at once")
    first = [cell.strip().casefold() for cell in lines[0].replace(";", ",").split(",")]
    head = [] if set(first) & set(headings) else [(";" if ";" in lines[0] else ",").join(headings)]
    return GivenTable(TYPED, "\n".join([*head, *lines, ""]).encode())
