"""Import runs from a file: the raw file is kept, the same content never comes twice, all rows or none."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import cached_property

from isohume.bench.reading.tables import Row
from isohume.foundation.quantity.errors import InputError
from isohume.foundation.quantity.typed import read_words
from isohume.outlets.site.bench.actions.record_run import Recorded, RecordRun
from isohume.outlets.site.bench.columns import REQUIRED, rows_of
from isohume.outlets.site.bench.history import Known
from isohume.outlets.site.bench.matching import Matching
from isohume.outlets.site.bench.models import ColumnMapping, ImportedFile, Lot
from isohume.outlets.site.bench.moments import shown_at
from isohume.outlets.site.ledger.actions import Action, By, Done, Refused, perform
from isohume.outlets.site.ledger.writing import writing
from isohume.outlets.site.people.models import Site
from isohume.outlets.site.people.roles import BENCH
from isohume.outlets.site.register.models import Instrument


@dataclass(frozen=True, slots=True)
class RowRead:
    """What came of one row: kept, or refused with the reason."""

    row: int
    cells: dict[str, str]
    kept: Recorded | None
    refused: str = ""


class RowsRefused(Refused):
    """The rows that could not be kept; nothing was imported."""

    def __init__(self, rows: Iterable[RowRead]) -> None:
        self.rows = tuple(rows)
        super().__init__(*(f"Row {row.row}: {row.refused}" for row in self.rows if row.refused))


@dataclass
class ImportRuns(Action[ImportedFile]):
    """Every row passes the same rules as a typed run; its portion and its instrument must be in the register."""

    name = "runs_imported"
    said = "Imported runs from a file"
    roles = BENCH

    at_site: Site
    file_name: str
    content: bytes
    mapping: ColumnMapping | None = None
    instrument: Instrument | None = None  # where the file has no column for it
    lot: Lot | None = None  # where the file has no column for it
    try_only: bool = False  # see `preview`

    @property
    def site(self) -> Site:
        """The plant it is imported into."""
        return self.at_site

    @cached_property
    def sha256(self) -> str:
        """The digest by which the file is known."""
        return hashlib.sha256(self.content).hexdigest()

    def refusals(self, by: By) -> Iterable[str]:
        """The same content twice, and what belongs to another plant."""
        before = ImportedFile.objects.filter(site=self.at_site, sha256=self.sha256).select_related("by").first()
        if before is not None:
            when = shown_at(before.at, self.at_site)
            yield f"This file was imported before: {before.name}, on {when} by {before.by.printed_name}."
        for thing in (self.mapping, self.instrument, self.lot):
            if thing is not None and thing.site_id != self.at_site.pk:
                yield f"{thing} belongs to another plant."

    def change(self, by: By) -> Done[ImportedFile]:
        """Keep the file and every run, or nothing."""
        name = read_words(self.file_name.replace("\\", "/").rpartition("/")[2], "file", 200)
        required = REQUIRED if self.lot else ("lot", *REQUIRED)
        rows = rows_of(name, self.content, self.mapping.columns if self.mapping else {}, required)
        kept = ImportedFile.objects.create(
            site=self.at_site,
            sha256=self.sha256,
            name=name,
            mapping=self.mapping,
            rows=len(rows),
            at=by.at,
            by=by.person,
        )
        read = list(self._read(rows, kept, by))
        if self.try_only or any(row.refused for row in read):
            raise RowsRefused(read)  # everything of it is rolled back
        with writing(by.at) as evidence:
            evidence.keep_file(name, self.content)
        lots = dict.fromkeys(row.kept.run.portion.sample.lot.ref for row in read if row.kept)
        details = {"name": name, "sha256": self.sha256, "rows": len(rows)}
        if self.mapping:
            details["mapping"] = self.mapping.name
        return Done(kept, kept.ref, list(lots), details)

    def _read(self, rows: list[Row], kept: ImportedFile, by: By) -> Iterator[RowRead]:
        matching, known = Matching(self.at_site, self.lot, self.instrument), Known(self.at_site)
        for row in rows:
            try:
                yield RowRead(row.number, row.cells, perform(self._run(row, matching, kept, known), by))
            except InputError as error:
                yield RowRead(row.number, row.cells, None, str(error))
            except Refused as refused:
                yield RowRead(row.number, row.cells, None, " ".join(refused.reasons))

    def _run(self, row: Row, matching: Matching, kept: ImportedFile, known: Known) -> RecordRun:
        read_at = row.get("read_at")
        if not read_at:
            raise InputError("read_at", "nothing", "when it was read")
        return RecordRun(
            matching.portion(row),
            matching.instrument(row),
            row.get("a_w"),
            sample_temperature_c=row.get("sample_temperature_c"),
            block_temperature_c=row.get("block_temperature_c"),
            read_at=read_at,
            override_reason=row.get("override_reason"),
            instrument_number=row.get("run"),
            imported=kept,
            row=row.number,
            known=known,
        )


def preview(action: ImportRuns, by: By) -> list[RowRead]:
    """What would come of every row: all rules are asked, and everything is rolled back.

    Raises: Refused or InputError where the file as a whole is refused.
    """
    action.try_only = True
    try:
        perform(action, by)
    except RowsRefused as tried:
        return list(tried.rows)
    finally:
        action.try_only = False
    raise AssertionError("a trial keeps nothing")  # pragma: no cover - `change` always raises on a trial
