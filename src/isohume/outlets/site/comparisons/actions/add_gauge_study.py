"""Add a gauge study: readings of parts by analysts or instruments, from a table."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from isohume.outlets.site.bench.moments import shown_at
from isohume.outlets.site.comparisons.gauge_table import found_of, outcome_of, readings_of
from isohume.outlets.site.comparisons.models import GaugeStudy
from isohume.outlets.site.comparisons.tables import GivenTable
from isohume.outlets.site.ledger.actions import Action, By, Done
from isohume.outlets.site.ledger.writing import writing
from isohume.outlets.site.people.models import Site
from isohume.outlets.site.people.roles import ANALYST, MANAGER
from isohume.outlets.site.register.actions.fields import needed_words


@dataclass
class AddGaugeStudy(Action[GaugeStudy]):
    """Every row passes, or nothing is saved. who: analyst, instrument or both, whose differences count as readers'."""

    name = "gauge_study_added"
    said = "Added a gauge study"
    roles = frozenset({ANALYST, MANAGER})

    at_site: Site
    title: str
    who: str
    table: GivenTable | None

    @property
    def site(self) -> Site:
        """The plant."""
        return self.at_site

    def refusals(self, by: By) -> Iterable[str]:
        """The same content twice."""
        sha256 = self.table.sha256 if self.table else ""
        before = GaugeStudy.objects.filter(site=self.at_site, file_sha256=sha256).select_related("by").first()
        if before is not None:
            when = shown_at(before.at, self.at_site)
            yield f"These readings are the gauge study {before.title} already, added on {when} by {before.by}."

    def change(self, by: By) -> Done[GaugeStudy]:
        """Keep the file, the readings as typed and what came of them."""
        title = needed_words(self.title, "title", 120, "what was studied, such as oat bars on OW-1 and OW-2")
        table = self.table or GivenTable("", b"")
        readings = readings_of(table, self.who)
        outcome, _ = outcome_of(found_of(readings))
        kept = GaugeStudy.objects.create(
            site=self.at_site,
            title=title,
            file_name=table.own_name,
            file_sha256=table.sha256,
            who=self.who,
            readings=readings,
            outcome=outcome,
            at=by.at,
            by=by.person,
        )
        with writing(by.at) as evidence:
            evidence.keep_file(table.own_name, table.content)
        details = {"title": title, "file": table.own_name, "sha256": table.sha256, "readings": len(readings)}
        return Done(kept, kept.ref, (), {**details, "who": self.who, "outcome": outcome})
