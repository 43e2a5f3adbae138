"""The ledger app."""

import pkgutil
from importlib import import_module

from django.apps import AppConfig, apps


class LedgerConfig(AppConfig):
    """Actions and trail."""

    name = "isohume.outlets.site.ledger"
    label = "ledger"

    def ready(self) -> None:
        """Every action is known from the start, so that a trail can say each in its words."""
        for app in apps.get_app_configs():
            if not app.name.startswith("isohume."):
                continue
            for module in pkgutil.iter_modules([f"{app.path}/actions"]):
                import_module(f"{app.name}.actions.{module.name}")
