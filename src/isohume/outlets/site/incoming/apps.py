"""The incoming app."""

from django.apps import AppConfig


class IncomingConfig(AppConfig):
    """See the package's first line."""

    name = "isohume.outlets.site.incoming"
    label = "incoming"
