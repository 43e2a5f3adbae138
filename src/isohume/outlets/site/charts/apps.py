"""The charts app."""

from django.apps import AppConfig


class ChartsConfig(AppConfig):
    """See the package's first line."""

    name = "isohume.outlets.site.charts"
    label = "charts"
