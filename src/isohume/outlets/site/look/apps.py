"""The look app."""

from django.apps import AppConfig


class LookConfig(AppConfig):
    """See the package's first line."""

    name = "isohume.outlets.site.look"
    label = "look"
