"""What has a date among the comparisons: the next proficiency round, instruments compared again, blind references."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime, timedelta

from isohume.bench.assurance.due import DueItem
from isohume.outlets.site.bench.moments import plant_day
from isohume.outlets.site.comparisons.models import BlindReference, InstrumentComparison, ProficiencyRound
from isohume.outlets.site.people.models import Site

READ_WITHIN = timedelta(days=14)  # no source: a blind reference that lies about is no longer the value it was


def due_items(site: Site, at: datetime) -> Iterator[DueItem]:
    """Everything of the plant's comparisons that has a date."""
    yield from _rounds(site)
    yield from _instruments(site)
    yield from _blind(site)


def _rounds(site: Site) -> Iterator[DueItem]:
    """The last round of each scheme names the day of the next."""
    last = {one.scheme: one for one in ProficiencyRound.objects.filter(site=site).order_by("reported_on", "pk")}
    for one in last.values():
        if one.next_on:
            yield DueItem(f"Proficiency round of {one.scheme}", one.ref, one.next_on, "next round")


def _instruments(site: Site) -> Iterator[DueItem]:
    """The last comparison of each two instruments that are both in use."""
    found = InstrumentComparison.objects.filter(site=site, first__in_use=True, second__in_use=True)
    found = found.select_related("first", "second", "product")
    last = {(*sorted((one.first_id, one.second_id)), one.product_id): one for one in found.order_by("pk")}
    for one in last.values():
        if one.next_on:
            of = f" on {one.product}" if one.product else ""
            yield DueItem(
                f"Comparison of {one.first} and {one.second}{of}", one.ref, one.next_on, "to be compared again"
            )


def _blind(site: Site) -> Iterator[DueItem]:
    found = BlindReference.objects.filter(site=site, decided_at=None).select_related("person")
    for one in found:
        if one.read_at is None:
            day = plant_day(one.set_at + READ_WITHIN, site)
            yield DueItem(f"{one}, to be read by {one.person}", one.ref, day, "blind reference")
        else:
            yield DueItem(f"{one}, read by {one.person}", one.ref, plant_day(one.read_at, site), "waits for a decision")
