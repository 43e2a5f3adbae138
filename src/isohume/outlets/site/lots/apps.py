"""The lots app."""

from django.apps import AppConfig


class LotsConfig(AppConfig):
    """See the package's first line."""

    name = "isohume.outlets.site.lots"
    label = "lots"
