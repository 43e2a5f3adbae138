"""The checks app."""

from django.apps import AppConfig


class ChecksConfig(AppConfig):
    """See the package's first line."""

    name = "isohume.outlets.site.checks"
    label = "checks"
