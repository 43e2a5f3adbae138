"""Bring history from a spreadsheet: the file is kept, the same content never comes twice, all rows or none."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property

from isohume.foundation.quantity.errors import InputError
from isohume.foundation.quantity.typed import read_words
from isohume.outlets.site.bench.moments import shown_at
from isohume.outlets.site.incoming.columns import COLUMNS, rows_of
from isohume.outlets.site.incoming.historic_rows import RowRead, RowReader
from isohume.outlets.site.incoming.models import HistoricCheck, HistoricFile, HistoricLot, HistoricMapping
from isohume.outlets.site.incoming.models.history import UNVERIFIED
from isohume.outlets.site.ledger.actions import Action, By, Done, Refused
from isohume.outlets.site.ledger.writing import writing
from isohume.outlets.site.people.models import Site
from isohume.outlets.site.people.roles import MANAGER
from isohume.outlets.site.register.actions.fields import needed_words
from isohume.outlets.site.register.models import Instrument, Product


class RowsRefused(Refused):
    """The rows that could not be kept; nothing was brought."""

    def __init__(self, rows: Iterable[RowRead]) -> None:
        self.rows = tuple(rows)
        super().__init__(*(f"Row {row.row}: {row.refused}" for row in self.rows if row.refused))


@dataclass
class BringHistory(Action[HistoricFile]):
    """Its rows seed plausibility, s_r, charts and budgets, called historical, unverified; they never release."""

    name = "history_brought"
    said = "Brought history from a spreadsheet"
    roles = frozenset({MANAGER})

    at_site: Site
    kind: str
    file_name: str
    content: bytes
    origin: str = ""
    mapping: HistoricMapping | None = None
    instrument: Instrument | None = None  # where the file has no column for it
    product: Product | None = None  # where the file has no column for it

    @property
    def site(self) -> Site:
        """The plant whose history it is."""
        return self.at_site

    @cached_property
    def sha256(self) -> str:
        """The digest by which the file is known."""
        return hashlib.sha256(self.content).hexdigest()

    @property
    def own_name(self) -> str:
        """The file's name without folders, whatever a browser sent."""
        return read_words(self.file_name.replace("\\", "/").rpartition("/")[2], "file", 200)

    def refusals(self, by: By) -> Iterable[str]:
        """The same content twice, and what belongs to another plant."""
        before = HistoricFile.objects.filter(site=self.at_site, sha256=self.sha256).select_related("by").first()
        if before is not None:
            when = shown_at(before.at, self.at_site)
            yield f"This file was brought before: {before.name}, on {when} by {before.by.printed_name}."
        for thing in (self.mapping, self.instrument, self.product):
            if thing is not None and thing.site_id != self.at_site.pk:
                yield f"{thing} belongs to another plant."

    def looked_at(self, by: By) -> list[RowRead]:
        """Every row as it would be kept, or why not; nothing is saved.

        Raises: InputError for a file, a kind or a mapping that cannot be read at all.
        """
        if self.kind not in COLUMNS:
            raise InputError("kind", self.kind or "nothing", "checks or lots")
        if self.mapping is not None and self.mapping.kind != self.kind:
            raise InputError("mapping", self.mapping.name, f"a mapping of {self.kind}")
        rows = rows_of(self.kind, self.own_name, self.content, self.mapping.columns if self.mapping else {})
        return RowReader(self.at_site, by.at, self.instrument, self.product).read(self.kind, rows)

    def change(self, by: By) -> Done[HistoricFile]:
        """Keep the file and every row, or nothing."""
        origin = needed_words(self.origin, "origin", 300, "where it comes from and who kept it")
        read = self.looked_at(by)
        if any(row.refused for row in read):
            raise RowsRefused(read)
        kept = HistoricFile.objects.create(
            site=self.at_site,
            kind=self.kind,
            sha256=self.sha256,
            name=self.own_name,
            mapping=self.mapping,
            origin=origin,
            rows=len(read),
            at=by.at,
            by=by.person,
        )
        model = HistoricCheck if self.kind == "checks" else HistoricLot
        model.objects.bulk_create((model(file=kept, row=row.row, **row.values) for row in read), batch_size=200)
        with writing(by.at) as evidence:
            evidence.keep_file(self.own_name, self.content)
        details = {
            "name": kept.name,
            "holds": self.kind,
            "sha256": self.sha256,
            "rows": len(read),
            "origin": origin,
            "standing": UNVERIFIED,
        }
        if self.mapping:
            details["mapping"] = self.mapping.name
        return Done(kept, kept.ref, self._about(read), details)

    def _about(self, read: list[RowRead]) -> list[str]:
        """The instruments or products it speaks of."""
        column = "instrument" if self.kind == "checks" else "product"
        return list(dict.fromkeys(row.values[column].ref for row in read))
