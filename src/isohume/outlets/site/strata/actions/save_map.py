"""Save the position map of a product: which places a lot has, and which are expected to be the worst."""

from __future__ import annotations

from dataclasses import dataclass

from isohume.bench.decision import place_on_map, position_key
from isohume.foundation.quantity.errors import InputError
from isohume.outlets.site.ledger.actions import Action, By, Done
from isohume.outlets.site.people.models import Site
from isohume.outlets.site.people.roles import DEVELOPER, MANAGER
from isohume.outlets.site.register.actions.fields import needed_words
from isohume.outlets.site.register.models import Product
from isohume.outlets.site.strata.models import PositionMap
from isohume.outlets.site.strata.names import read_names

MOST_PLACES = 400


@dataclass
class SavePositionMap(Action[PositionMap]):
    """A version; maps before it stay, and samples keep the place that was typed."""

    name = "position_map_saved"
    said = "Saved a position map"
    roles = frozenset({DEVELOPER, MANAGER})

    product: Product
    rows: str
    columns: str = ""
    worst: str = ""
    reason: str = ""

    @property
    def site(self) -> Site:
        """The product's plant."""
        return self.product.site

    def change(self, by: By) -> Done[PositionMap]:
        """Read the names; every expected worst place must be on the map."""
        rows, columns = read_names(self.rows, "rows"), read_names(self.columns, "columns")
        if not rows:
            raise InputError("rows", "nothing", "the rows of the map, such as rack 1 to 12")
        if len(rows) * max(len(columns), 1) > MOST_PLACES:
            raise InputError("columns", f"{len(rows)} x {len(columns)} places", f"at most {MOST_PLACES}")
        if len(rows) * max(len(columns), 1) < 2:
            raise InputError("rows", self.rows, "two places or more: one place has no strata")
        worst = self._worst(rows, columns)
        reason = needed_words(self.reason, "reason", 300, "why: how the places were chosen, what makes one the worst")
        last = self.product.position_maps.order_by("-version").first()
        saved = PositionMap.objects.create(
            product=self.product,
            version=last.version + 1 if last else 1,
            rows=rows,
            columns=columns,
            worst=worst,
            reason=reason,
            since=by.at,
            by=by.person,
        )
        details = {"version": str(saved.version), "rows": ", ".join(rows), "columns": ", ".join(columns)}
        if worst:
            details["expected worst"] = ", ".join(worst)
        return Done(saved, saved.ref, [self.product.ref, *([last.ref] if last else [])], details, reason)

    def _worst(self, rows: list[str], columns: list[str]) -> list[str]:
        """The expected worst places as the map calls them; a row or a column stands for all of its places."""
        found: list[str] = []
        for typed in read_names(self.worst, "worst"):
            places = _places(typed, rows, columns)
            if not places:
                raise InputError("worst", typed, "places of the map: a row, a column, or a row with its column")
            found += [place for place in places if place not in found]
        return found


def _places(typed: str, rows: list[str], columns: list[str]) -> list[str]:
    one = place_on_map(typed, rows, columns)
    if one is not None:
        return [" ".join(part for part in one if part)]
    key = position_key(typed)
    return [f"{row} {column}" for row in rows for column in columns if key in (position_key(row), position_key(column))]
