"""Save a mapping: how a plant's own spreadsheets of past checks or lots call their columns."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from isohume.foundation.quantity.errors import InputError
from isohume.foundation.quantity.typed import read_words
from isohume.outlets.site.incoming.columns import COLUMNS, REQUIRED
from isohume.outlets.site.incoming.models import HistoricMapping
from isohume.outlets.site.ledger.actions import Action, By, Done
from isohume.outlets.site.people.models import Site
from isohume.outlets.site.people.roles import MANAGER
from isohume.outlets.site.register.actions.fields import needed_words


@dataclass
class SaveHistoricMapping(Action[HistoricMapping]):
    """Our column name -> theirs. A saved mapping is not changed; another name is given to another one."""

    name = "historic_mapping_saved"
    said = "Saved a mapping of a spreadsheet's columns"
    roles = frozenset({MANAGER})

    at_site: Site
    kind: str
    name_of_mapping: str
    columns: Mapping[str, str] = field(default_factory=dict)

    @property
    def site(self) -> Site:
        """The plant whose spreadsheets they are."""
        return self.at_site

    def change(self, by: By) -> Done[HistoricMapping]:
        """Save it; a column left blank goes by our own name, if it is there at all."""
        if self.kind not in COLUMNS:
            raise InputError("kind", self.kind or "nothing", "checks or lots")
        what = "a name for these spreadsheets, such as bench book 2024"
        name = needed_words(self.name_of_mapping, "name_of_mapping", 80, what)
        if HistoricMapping.objects.filter(site=self.at_site, name=name).exists():
            raise InputError("name_of_mapping", name, "a name that no mapping has yet")
        columns = self._columns()
        saved = HistoricMapping.objects.create(
            site=self.at_site, kind=self.kind, name=name, columns=columns, by=by.person
        )
        return Done(saved, saved.ref, [self.at_site.ref], {"name": name, "holds": self.kind, "columns": columns})

    def _columns(self) -> dict[str, str]:
        columns: dict[str, str] = {}
        for ours, typed in self.columns.items():
            if ours not in COLUMNS[self.kind]:
                raise InputError("columns", ours, f"one of {', '.join(COLUMNS[self.kind])}")
            theirs = read_words(typed, f"columns_{ours}", 100)
            if theirs in columns.values():
                raise InputError(f"columns_{ours}", theirs, "each column of the file once")
            if theirs:
                columns[ours] = theirs
        if not columns:
            raise InputError(
                f"columns_{REQUIRED[self.kind][0]}", "nothing", "at least one column that the files call otherwise"
            )
        return columns
