"""When a budget is to be looked at again: every quarter, from the last look on."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, datetime

from django.db.models import Max

from isohume.bench.assurance.due import DueItem
from isohume.outlets.site.bench.moments import plant_day
from isohume.outlets.site.budgets.gathering import QUARTER
from isohume.outlets.site.people.models import Site
from isohume.outlets.site.register.models import MethodVersion


def due_items(site: Site, at: datetime) -> Iterator[DueItem]:
    """The version in force of each method of a plant; in one query."""
    versions = MethodVersion.objects.filter(method__site=site).select_related("method__site")
    looks = versions.annotate(set_at=Max("budgets__since"), looked_at=Max("refreshes__at")).order_by("pk")
    for version in {one.method_id: one for one in looks}.values():
        why = "quarterly refresh" if version.set_at else "the starter budget holds still"
        last = max(filter(None, (version.since, version.set_at, version.looked_at)))
        yield DueItem(f"Budget of {version.method}", version.ref, plant_day(last, site) + QUARTER, why)


def due_on(version: MethodVersion) -> date:
    """A quarter after its last refresh, its budget, or its beginning, whichever came last."""
    looks = [one.at for one in version.refreshes.all()] + [one.since for one in version.budgets.all()]
    return plant_day(max([version.since, *looks]), version.method.site) + QUARTER
