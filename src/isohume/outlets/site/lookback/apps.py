"""The lookback app."""

from django.apps import AppConfig


class LookbackConfig(AppConfig):
    """See the package's first line."""

    name = "isohume.outlets.site.lookback"
    label = "lookback"
