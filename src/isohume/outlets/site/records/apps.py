"""The records app."""

from django.apps import AppConfig


class RecordsConfig(AppConfig):
    """See the package's first line."""

    name = "isohume.outlets.site.records"
    label = "records"
