"""A file on its way through the page of a new study: chosen once, carried along until its points are taken."""

from __future__ import annotations

from dataclasses import dataclass, field

from django.http import HttpRequest

from isohume.bench.reading.tables import Row
from isohume.outlets.site.bench.choices import product_typed
from isohume.outlets.site.config.upload import LARGEST_BYTES, Carried, carried_by
from isohume.outlets.site.people.models import Site
from isohume.outlets.site.studies.actions.add_study import AddStudy
from isohume.outlets.site.studies.columns import NAMES, guessed, headings_of, rows_of

FIRST_ROWS = 6
FIELDS = tuple(f"columns_{name}" for name in NAMES)


@dataclass
class Upload(Carried):
    """The file with its rows, its headings and what they probably are."""

    rows: list[Row] = field(default_factory=list)

    @property
    def headings(self) -> list[str]:
        """How the file calls its columns."""
        return headings_of(self.rows)

    @property
    def first(self) -> list[Row]:
        """The first rows, to be looked at."""
        return self.rows[:FIRST_ROWS]

    @property
    def starts(self) -> dict[str, str]:
        """What the form's fields start with: the guess of the columns, and the basis where its heading says it."""
        found = guessed(self.headings)
        basis = found.pop("basis", "")
        return {**{f"columns_{name}": heading for name, heading in found.items()}, "basis": basis}


def upload_of(request: HttpRequest) -> Upload:
    """The file as chosen now, or as carried along.

    Raises: InputError at the field `file`.
    """
    file = carried_by(request, LARGEST_BYTES)
    upload = Upload(file.name, file.content)
    upload.rows = rows_of(upload.name, upload.content)
    return upload


def action_of(site: Site, typed: dict[str, str], upload: Upload) -> AddStudy:
    """The change that the form asks for."""
    return AddStudy(
        product_typed(site, typed.get("product", "")),
        upload.name,
        upload.content,
        {name: typed.get(f"columns_{name}", "") for name in NAMES},
        typed.get("basis", ""),
        typed.get("formula_version", ""),
        typed.get("direction", ""),
        typed.get("temperature_c", ""),
    )
