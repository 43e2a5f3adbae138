"""Refreshes of uncertainty budgets: what was proposed, and what the manager did about it."""

from __future__ import annotations

from django.db import models

from isohume.outlets.site.config.named import Named
from isohume.outlets.site.people.models import Person
from isohume.outlets.site.register.models import Budget, MethodVersion


class BudgetRefresh(Named):
    """One look at a method version's budget, with the proposal as it stood. Never changed."""

    method_version = models.ForeignKey(MethodVersion, on_delete=models.PROTECT, related_name="refreshes")
    budget = models.OneToOneField(Budget, on_delete=models.PROTECT, null=True, related_name="refresh")  # None: kept
    content = models.JSONField()  # Proposal.as_json
    digest = models.CharField(max_length=64)
    reason = models.CharField(max_length=300)
    at = models.DateTimeField()
    by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")

    def __str__(self) -> str:
        return f"{self.method_version}, budget {'adopted' if self.budget_id else 'kept as it was'}"
