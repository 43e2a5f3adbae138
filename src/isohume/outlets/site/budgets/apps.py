"""The budgets app."""

from django.apps import AppConfig


class BudgetsConfig(AppConfig):
    """See the package's first line."""

    name = "isohume.outlets.site.budgets"
    label = "budgets"
