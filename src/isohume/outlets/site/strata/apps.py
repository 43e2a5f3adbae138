"""The strata app."""

from django.apps import AppConfig


class StrataConfig(AppConfig):
    """See the package's first line."""

    name = "isohume.outlets.site.strata"
    label = "strata"
