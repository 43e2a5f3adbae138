"""Record sister sites' results on one control product."""

from __future__ import annotations

from dataclasses import dataclass

from isohume.foundation.quantity.errors import InputError
from isohume.outlets.site.comparisons.actions.fields import small_number
from isohume.outlets.site.comparisons.models import SiteComparison
from isohume.outlets.site.comparisons.sites_compared import compared, rows_of_sites
from isohume.outlets.site.comparisons.tables import GivenTable
from isohume.outlets.site.ledger.actions import Action, By, Done
from isohume.outlets.site.ledger.writing import writing
from isohume.outlets.site.people.models import Site
from isohume.outlets.site.people.roles import MANAGER
from isohume.outlets.site.register.actions.fields import needed_words


@dataclass
class CompareSites(Action[SiteComparison]):
    """A row a site: name, mean, s, n; ours first. repeatability, reproducibility: the limits r and R of the method."""

    name = "sites_compared"
    said = "Compared sister sites"
    roles = frozenset({MANAGER})

    at_site: Site
    material: str
    repeatability: str
    reproducibility: str
    table: GivenTable | None

    @property
    def site(self) -> Site:
        """The plant."""
        return self.at_site

    def change(self, by: By) -> Done[SiteComparison]:
        """Keep the rows as typed and what they say."""
        material = needed_words(self.material, "material", 120, "the control product that all sites measured")
        r, big_r = (
            small_number(self.repeatability, "repeatability"),
            small_number(self.reproducibility, "reproducibility"),
        )
        if float(big_r) < float(r):
            raise InputError("reproducibility", big_r, f"at least the repeatability limit, {r}")
        table = self.table or GivenTable("", b"")
        rows = rows_of_sites(table)
        found = compared(rows, float(r), float(big_r))
        kept = SiteComparison.objects.create(
            site=self.at_site,
            material=material,
            rows=rows,
            repeatability=r,
            reproducibility=big_r,
            outcome=found.answer,
            at=by.at,
            by=by.person,
        )
        with writing(by.at) as evidence:
            evidence.keep_file(table.own_name, table.content)
        details = {"material": material, "rows": rows, "r": r, "R": big_r, "sha256": table.sha256}
        return Done(kept, kept.ref, (), {**details, "outcome": found.answer})
