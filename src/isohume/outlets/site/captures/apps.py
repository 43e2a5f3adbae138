"""The captures app."""

from django.apps import AppConfig


class CapturesConfig(AppConfig):
    """See the package's first line."""

    name = "isohume.outlets.site.captures"
    label = "captures"
