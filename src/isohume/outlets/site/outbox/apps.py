"""The outbox app."""

from django.apps import AppConfig


class OutboxConfig(AppConfig):
    """See the package's first line."""

    name = "isohume.outlets.site.outbox"
    label = "outbox"
