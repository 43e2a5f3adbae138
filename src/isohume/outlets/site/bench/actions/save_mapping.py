"""Save a mapping: how a laboratory's own files call the columns."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from isohume.foundation.quantity.errors import InputError
from isohume.foundation.quantity.typed import read_words
from isohume.outlets.site.bench.columns import COLUMNS, REQUIRED
from isohume.outlets.site.bench.models import ColumnMapping
from isohume.outlets.site.ledger.actions import Action, By, Done
from isohume.outlets.site.people.models import Site
from isohume.outlets.site.people.roles import BENCH


@dataclass
class SaveMapping(Action[ColumnMapping]):
    """Our column name -> theirs. A saved mapping is not changed; another name is given to another one."""

    name = "mapping_saved"
    said = "Saved a mapping of columns"
    roles = BENCH

    at_site: Site
    name_of_mapping: str
    columns: Mapping[str, str] = field(default_factory=dict)

    @property
    def site(self) -> Site:
        """The plant whose files they are."""
        return self.at_site

    def change(self, by: By) -> Done[ColumnMapping]:
        """Save it; a column left blank goes by our own name, if it is there at all."""
        name = read_words(self.name_of_mapping, "name_of_mapping", 80)
        if not name:
            raise InputError("name_of_mapping", "nothing", "a name for these files, such as export of OW-2")
        if ColumnMapping.objects.filter(site=self.at_site, name=name).exists():
            raise InputError("name_of_mapping", name, "a name that no mapping has yet")
        columns = self._columns()
        saved = ColumnMapping.objects.create(site=self.at_site, name=name, columns=columns, by=by.person)
        return Done(saved, saved.ref, [self.at_site.ref], {"name": name, "columns": columns})

    def _columns(self) -> dict[str, str]:
        columns: dict[str, str] = {}
        for ours, typed in self.columns.items():
            if ours not in COLUMNS:
                raise InputError("columns", ours, f"one of {', '.join(COLUMNS)}")
            theirs = read_words(typed, f"columns_{ours}", 100)
            if theirs in columns.values():
                raise InputError(f"columns_{ours}", theirs, "each column of the file once")
            if theirs:
                columns[ours] = theirs
        if not columns:
            raise InputError(f"columns_{REQUIRED[0]}", "nothing", "at least one column that the files call otherwise")
        return columns
