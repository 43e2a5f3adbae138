"""Named questions about budgets and their refreshes."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from django.db.models import QuerySet

from isohume.outlets.site.budgets.due import due_on
from isohume.outlets.site.budgets.models import BudgetRefresh
from isohume.outlets.site.people.models import Site
from isohume.outlets.site.register.figures import Figure, uncertainty_of
from isohume.outlets.site.register.models import Method, MethodVersion


@dataclass(frozen=True, slots=True)
class BudgetNow:
    """The budget in force of a method, and when it is looked at again."""

    version: MethodVersion
    uncertainty: Figure
    due_on: date
    last: BudgetRefresh | None


def budgets_now(site: Site) -> list[BudgetNow]:
    """The version in force of each method, by name."""
    found = Method.objects.filter(site=site).prefetch_related("versions__budgets", "versions__refreshes")
    versions = [max(method.versions.all(), key=lambda one: one.pk, default=None) for method in found.order_by("name")]
    return [
        BudgetNow(
            version,
            uncertainty_of(version),
            due_on(version),
            max(version.refreshes.all(), key=lambda one: one.pk, default=None),
        )
        for version in versions
        if version is not None
    ]


def refreshes_of(site: Site) -> QuerySet[BudgetRefresh]:
    """Every refresh of a plant, the newest first."""
    related = "method_version__method__site", "budget", "by"
    return BudgetRefresh.objects.filter(method_version__method__site=site).select_related(*related).order_by("-pk")
